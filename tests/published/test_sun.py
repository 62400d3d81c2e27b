"""Sunrise and sunset against published times, and the day's temperature curve against its worked table.

Sources: times of London and Wayne as in the tests of the astronomy library astral
(src/test/test_sun_utc.py) and in the Almanac for Computers (U.S. Naval Observatory, 1990), worked example;
NOAA's short formula worked here for Fargo, which is within 5 minutes of the full one; Parton and Logan,
Agricultural Meteorology 23:205-216 (1981), air at 150 cm, values worked from the formula.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from math import acos, cos, degrees, pi, radians, sin, tan

import pytest

from routing.domain.places import Position
from routing.need.air.day_curve import hourly_c
from routing.need.air.sun import daylight

LONDON = Position(51.4733, -0.0008333)
FARGO = Position(46.877, -96.789)


@pytest.mark.parametrize(
    ("day", "rise", "down"),
    [
        (date(2015, 1, 1), "08:06", "16:01"),
        (date(2015, 12, 1), "07:43", "15:55"),
        (date(2015, 12, 2), "07:45", "15:54"),
        (date(2015, 12, 12), "07:56", "15:51"),
        (date(2015, 12, 25), "08:05", "15:55"),
    ],
)
def test_sun_in_london(day: date, rise: str, down: str) -> None:
    light = daylight(LONDON, day, "Europe/London")
    assert light is not None
    for found, wanted in ((light.rise, rise), (light.set, down)):
        at = datetime.fromisoformat(f"{day}T{wanted}:00+00:00")
        assert abs(found - at) <= timedelta(seconds=90)


def test_sunrise_of_the_almanac_example() -> None:
    """Wayne, New Jersey, 25 June 1990: 9.441 h UTC by the almanac's method (that value from memory)."""
    light = daylight(Position(40.9, -74.3), date(1990, 6, 25), "America/New_York")
    assert light is not None
    rise = light.rise.astimezone(UTC)
    assert rise.hour + rise.minute / 60 + rise.second / 3600 == pytest.approx(9.441, abs=0.02)


def test_sunset_belongs_to_its_own_evening_west_of_greenwich_and_east() -> None:
    light = daylight(FARGO, date(2025, 9, 15), "America/Chicago")
    assert light is not None
    assert (light.rise.date(), light.set.date()) == (date(2025, 9, 15), date(2025, 9, 15))
    assert f"{light.set:%H:%M}" == "19:37"
    south = daylight(Position(-43.53, 172.63), date(2025, 3, 15), "Pacific/Auckland")
    assert south is not None
    assert (south.rise.date(), south.set.date()) == (date(2025, 3, 15), date(2025, 3, 15))


def _noaa_minutes_utc(position: Position, day: date) -> tuple[float, float]:
    """Sunrise and sunset in minutes of UTC by NOAA's short formula."""
    g = 2 * pi / 365 * (day.timetuple().tm_yday - 1)
    eqtime = 229.18 * (
        0.000075 + 0.001868 * cos(g) - 0.032077 * sin(g) - 0.014615 * cos(2 * g) - 0.040849 * sin(2 * g)
    )
    decl = 0.006918 - 0.399912 * cos(g) + 0.070257 * sin(g) - 0.006758 * cos(2 * g) + 0.000907 * sin(2 * g)
    decl += -0.002697 * cos(3 * g) + 0.00148 * sin(3 * g)
    lat = radians(position.lat)
    ha = degrees(acos(cos(radians(90.833)) / (cos(lat) * cos(decl)) - tan(lat) * tan(decl)))
    return 720 - 4 * (position.lon + ha) - eqtime, 720 - 4 * (position.lon - ha) - eqtime


@pytest.mark.parametrize("month", range(1, 13))
def test_sun_through_the_year_within_five_minutes_of_the_short_formula(month: int) -> None:
    day = date(2025, month, 15)
    light = daylight(FARGO, day, "America/Chicago")
    assert light is not None
    midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
    for found, minutes in zip((light.rise, light.set), _noaa_minutes_utc(FARGO, day), strict=True):
        assert abs(found - (midnight + timedelta(minutes=minutes))) < timedelta(minutes=5)


def test_midnight_sun_and_polar_night() -> None:
    north = Position(70.0, 20.0)
    summer = daylight(north, date(2025, 6, 21), "Europe/Oslo")
    assert summer is not None
    assert summer.set - summer.rise == timedelta(days=1)
    assert daylight(north, date(2025, 12, 21), "Europe/Oslo") is None


@pytest.mark.parametrize(
    ("hour", "celsius"),
    [
        (0, 8.56), (3, 7.06), (6, 6.19), (7, 7.00), (9, 12.63), (12, 18.59), (14, 19.99), (16, 19.03),
        (18, 15.86), (20, 12.42), (22, 10.14),
    ],
)  # fmt: skip
def test_parton_and_logan(hour: float, celsius: float) -> None:
    assert hourly_c(5.0, 20.0, 6.5, 18.5, hour) == pytest.approx(celsius, abs=0.005)


def test_hours_warm_enough_by_parton_and_logan() -> None:
    assert hourly_c(5.0, 20.0, 6.5, 18.5, 9.15) == pytest.approx(13.0, abs=0.05)
    assert hourly_c(5.0, 20.0, 6.5, 18.5, 19.59) == pytest.approx(13.0, abs=0.05)
