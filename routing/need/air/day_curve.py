"""Air temperature through a day, from its low and its high."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from math import exp, pi, sin

from routing.domain.operation import Operation
from routing.domain.places import Yard
from routing.need.air.sun import Daylight, daylight
from routing.need.air.temperature import temperature_of

MAX_LAG_H, NIGHT_DECAY, MIN_LAG_H = 1.86, 2.20, -0.17
"""a, b, c of Parton and Logan for air at 150 cm, Denver."""

USUAL_RISE_H, USUAL_SET_H = 6.0, 18.0
"""Estimate: where the sun does not rise or set, a day as at the equinox."""


def hourly_c(low_c: float, high_c: float, rise_h: float, set_h: float, hour: float) -> float:
    """Air temperature at an hour of a day, degrees C: a sine by day, a decay by night.

    Parameters
    ----------
    low_c, high_c : the day's lowest and highest, degrees C
    rise_h, set_h : sunrise and sunset, hours after local midnight, ``rise_h < set_h``
    hour : 0 to 24

    Symbols: a hours that the highest lags noon, b decay by night, c hours that the lowest lags sunrise.
    Other curves put the morning an hour earlier or later: say it as about.

    References: W.J. Parton and J.A. Logan, A model for diurnal variation in soil and air temperature,
    Agricultural Meteorology 23:205-216 (1981).
    """
    day_h = set_h - rise_h
    a, b, c = MAX_LAG_H, NIGHT_DECAY, MIN_LAG_H

    def by_day(at_h: float) -> float:
        return (high_c - low_c) * sin(pi * (at_h - rise_h - c) / (day_h + 2 * a)) + low_c

    if rise_h + c <= hour <= set_h:
        return by_day(hour)
    since_set_h = hour - set_h if hour > set_h else hour + 24 - set_h
    return low_c + (by_day(set_h) - low_c) * exp(-b * since_set_h / (24 - day_h))


def low_of(yard: Yard, operation: Operation) -> float:
    """The night's low in a yard, degrees C: its own, else the operation's; never above the day's high."""
    own = operation.feeding.low_c if yard.low_c is None else yard.low_c
    return min(own, temperature_of(yard, operation))


def air_at_c(yard: Yard, operation: Operation, moment: datetime) -> float:
    """Air temperature in a yard at an aware local time, degrees C.

    Low and high are those of the feeding date; a night shift meets the same again the next morning.
    """
    day = moment.date()
    rise_h, set_h = _sun_hours(daylight(yard.position, day, operation.timezone), day)
    hour = moment.hour + moment.minute / 60 + moment.second / 3600
    return hourly_c(low_of(yard, operation), temperature_of(yard, operation), rise_h, set_h, hour)


def _sun_hours(light: Daylight | None, day: date) -> tuple[float, float]:
    if light is None or light.set - light.rise > timedelta(hours=23):
        return USUAL_RISE_H, USUAL_SET_H
    rise, down = (t.hour + t.minute / 60 + 24 * (t.date() - day).days for t in (light.rise, light.set))
    return rise, down
