"""Tell where on earth a time zone is, to notice coordinates that cannot belong to it."""

from __future__ import annotations

import re
from datetime import datetime
from functools import lru_cache
from importlib import resources
from zoneinfo import ZoneInfo

_ISO6709 = re.compile(r"([+-])(\d{2})(\d{2})(\d{2})?([+-])(\d{3})(\d{2})(\d{2})?")


@lru_cache(maxsize=1)
def _table() -> dict[str, tuple[float, float]]:
    """Latitude and longitude of the city that names each zone, from the IANA file ``zone.tab``."""
    found: dict[str, tuple[float, float]] = {}
    try:
        text = resources.files("tzdata.zoneinfo").joinpath("zone.tab").read_text(encoding="utf-8")
    except (OSError, ModuleNotFoundError):
        return found
    for line in text.splitlines():
        cells = line.split("\t")
        if not line.startswith("#") and len(cells) >= 3 and (m := _ISO6709.fullmatch(cells[1])):
            lat = int(m[2]) + int(m[3]) / 60 + int(m[4] or 0) / 3600
            lon = int(m[6]) + int(m[7]) / 60 + int(m[8] or 0) / 3600
            found[cells[2]] = (lat if m[1] == "+" else -lat, lon if m[5] == "+" else -lon)
    return found


def standard_offset_h(timezone: str) -> float:
    """Hours that clocks of a zone run ahead of UTC outside summer time, in 2026."""
    zone = ZoneInfo(timezone)
    seasons = (datetime(2026, month, 15, tzinfo=zone) for month in (1, 7))
    offsets = [moment.utcoffset() for moment in seasons]
    return min(offset.total_seconds() for offset in offsets if offset is not None) / 3600


def zone_place(timezone: str) -> tuple[float, float] | None:
    """Latitude and longitude of a zone's city, None for zones without one (UTC)."""
    return _table().get(timezone)
