"""What every box of one truck's sheet needs to know."""

from __future__ import annotations

from dataclasses import dataclass, field

from routing.domain.plan import Stop
from routing.reports.sheet.annex import Annex
from routing.reports.sheet.model import Where
from routing.reports.words.format import decimal_degrees, dms, duration, geo_uri
from routing.reports.words.route_day import Fact, RouteDay
from routing.reports.words.stop_facts import drive_text


@dataclass(frozen=True)
class SheetDay(RouteDay):
    """A truck's day with the annex of its sheet."""

    annex: Annex = field(default_factory=Annex)

    def drive_fact(self, stop: Stop, *, stay: bool = False) -> tuple[Fact, ...]:
        """How far it is from the stop before, and with ``stay`` how long the work there takes."""
        here = f"; {duration((stop.leave - stop.begin).total_seconds())} here" if stay else ""
        text = drive_text(self, stop)
        if not text:
            return (Fact("Drive", f"none{here}"),) if stay else ()
        return (Fact("Drive", f"{text}{here}"),)


def where(lat: float, lon: float) -> Where:
    """A position to read, to type and to scan."""
    return Where(decimal_degrees(lat, lon), dms(lat, lon), geo_uri(lat, lon))
