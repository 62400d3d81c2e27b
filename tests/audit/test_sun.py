"""Sunrise and sunset by the audit's own series agree with the library that plans are made with."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from routing.audit.evidence.sun import DOUBT, sunlight
from routing.domain.places import Position
from routing.need.air.sun import daylight

PLACES = [
    ("America/Denver", -108.0), ("Europe/Berlin", 12.0), ("Pacific/Auckland", 174.0),
    ("Pacific/Tongatapu", -175.0), ("America/Anchorage", -150.0), ("America/Chicago", -100.0),
]  # fmt: skip


@pytest.mark.parametrize(("timezone", "lon"), PLACES)
def test_sunrise_and_sunset_agree_with_astral(timezone: str, lon: float) -> None:
    """The library computes the same source (NOAA) by its longer series."""
    for lat in (-45.0, -10.0, 0.0, 30.0, 44.0, 58.0):
        for days in range(0, 365, 13):
            place, day = Position(lat, lon), date(2026, 1, 1) + timedelta(days)
            own, known = sunlight(place, day, timezone), daylight(place, day, timezone)
            assert own is not None
            assert known is not None
            assert abs(own[0] - known.rise) < DOUBT, (lat, day)
            assert abs(own[1] - known.set) < DOUBT, (lat, day)


def test_where_the_sun_does_not_set_nothing_is_said() -> None:
    assert sunlight(Position(70.0, 25.0), date(2026, 6, 21), "Europe/Oslo") is None
    assert sunlight(Position(70.0, 25.0), date(2026, 12, 21), "Europe/Oslo") is None
