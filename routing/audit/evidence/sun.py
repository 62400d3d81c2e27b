"""Work out again when the sun rises and sets, to a few minutes."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from math import acos, cos, degrees, pi, radians, sin, tan
from zoneinfo import ZoneInfo

from routing.domain.places import Position

UPPER_EDGE_DEG = 90.833
"""Zenith distance of the sun at rise and set: its radius and the usual refraction."""


DOUBT = timedelta(minutes=6)
"""Two reckonings of sunrise agree within this, to 60 degrees of latitude (measured on 5,000 dates)."""


def sunlight(position: Position, day: date, timezone: str) -> tuple[datetime, datetime] | None:
    """Sunrise and sunset (UTC) of the date at a place; None where the sun does not rise or does not set.

    The short series, at noon of the place, good to some two minutes away from the poles. ``day`` is the date
    by the clock of ``timezone``: rise and set may fall on another date of UTC.

    References: National Oceanic and Atmospheric Administration, Global Monitoring Division, General Solar
    Position Calculations (fractional year, equation of time, declination, hour angle).
    """
    days = 366 if day.year % 4 == 0 and (day.year % 100 or day.year % 400 == 0) else 365
    g = 2 * pi / days * (day.timetuple().tm_yday - 1 - position.lon / 360)
    time_min = 229.18 * (
        0.000075 + 0.001868 * cos(g) - 0.032077 * sin(g) - 0.014615 * cos(2 * g) - 0.040849 * sin(2 * g)
    )
    declination = (
        0.006918 - 0.399912 * cos(g) + 0.070257 * sin(g) - 0.006758 * cos(2 * g) + 0.000907 * sin(2 * g)
        - 0.002697 * cos(3 * g) + 0.00148 * sin(3 * g)
    )  # fmt: skip
    lat = radians(position.lat)
    cosine = cos(radians(UPPER_EDGE_DEG)) / (cos(lat) * cos(declination)) - tan(lat) * tan(declination)
    if abs(cosine) >= 1:
        return None
    half_min = 4 * degrees(acos(cosine))
    noon_min = 720 - 4 * position.lon - time_min
    noon = datetime.combine(day, time(0), UTC) + timedelta(minutes=noon_min)
    noon += day - noon.astimezone(ZoneInfo(timezone)).date()
    half = timedelta(minutes=half_min)
    return noon - half, noon + half
