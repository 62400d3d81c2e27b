"""When the sun rises and sets at a place on a date, by its own clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from astral import Observer
from astral.sun import elevation, sunrise, sunset

from routing.domain.places import Position


@dataclass(frozen=True)
class Daylight:
    """Sunrise and sunset as aware local times; a midnight sun runs from midnight to midnight."""

    rise: datetime
    set: datetime


def daylight(position: Position, day: date, timezone: str) -> Daylight | None:
    """Sunrise and sunset of a local date at a place; None in polar night.

    The upper edge of the sun on a level horizon with usual refraction, within some minutes: hills and
    weather are not known. The zone always goes along: without it the library gives the sunset of the
    evening before for places west of Greenwich.

    References: National Oceanic and Atmospheric Administration, General Solar Position Calculations, as the
    library ``astral`` computes them.
    """
    zone, observer = ZoneInfo(timezone), Observer(position.lat, position.lon)
    try:
        return Daylight(sunrise(observer, day, tzinfo=zone), sunset(observer, day, tzinfo=zone))
    except ValueError:
        # No rise or no set on this date: light all day, or dark all day, by the sun at its highest.
        hours = (datetime.combine(day, time(0), zone) + timedelta(hours=h) for h in range(24))
        if max(elevation(observer, hour) for hour in hours) < 0:
            return None
        midnight = datetime.combine(day, time(0), zone)
        return Daylight(midnight, datetime.combine(day + timedelta(days=1), time(0), zone))
