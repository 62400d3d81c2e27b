"""Room to work in: what the rules write while they judge one route, and the faults they find."""

from __future__ import annotations

from math import ceil
from typing import NamedTuple

import numpy as np

from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Ints, Records, record

INFEASIBLE = np.inf

LAWFUL = 0
# What one more refill may cure:
TANK, SLOTS, WEIGHT, GATE_WEIGHT, SUPPLY, STOCK = 1, 2, 3, 4, 5, 6
# What it cannot:
ACCESS, IDLE_REFILL, HYGIENE, WINDOW, SHIFT, DRIVING, BREAK = 7, 8, 9, 10, 11, 12, 13
CURABLE = STOCK
"""Faults up to this one may be cured by a refill."""

POINT = record(
    "place drive_s metres climb_m service_s begin leave arrive pause_s nothing washes lowest full empty",
    "gross_g",
)
"""A point of a route: the leg to it, its service with loading and washing, the break after it, whether a call
takes nothing aboard or washes, the cleanest visit still to come; on leaving, full pails, empties and mass."""

CALL = record("wanted_ml taken_ml pail_ml pails")
"""Of one commodity at one call: to be pumped aboard, margin apart; pumped aboard; taken in pails; pails."""

KIND = record("need_ml need_pail_ml need_pails level_ml spare_ml")
"""Of one commodity: what later stops need pumped and in pails, what is in the tanks, the spare share."""

LEVEL = record("level_ml")
"""One of several tanks of the truck."""

MONEY = record("overtime_s", "fuel_l labor fuel vehicle")
"""What the route judged last uses and costs."""


class Scratch(NamedTuple):
    """Point 0 of a route is its start, point i its i-th stop, the last its end."""

    points: Records
    """[i]"""
    windows: Ints
    """[i, w, 2]"""
    calls: Records
    """[i, s]"""
    kinds: Records
    """[s]"""
    tanks: Records
    """[j]"""
    drawn_ml: Ints
    """[d, s]: taken at each depot of the route judged last; of other depots nothing is said"""
    money: Records
    """[0]"""


SPARE_STOPS = 12


def longest_route(tables: Tables) -> int:
    """Stops that a route has room for: visits that the longest shift has time for, two calls with each."""
    visits = len(tables.visits)
    if not visits or not len(tables.trucks):
        return SPARE_STOPS
    least_s = max(1, int(tables.crews["service_s"].min()))
    longest_s = int(tables.trucks["max_s"].max())
    return 3 * min(visits, ceil(longest_s / least_s)) + SPARE_STOPS


def scratch_for(tables: Tables, stops: int) -> Scratch:
    """Room for a route of so many stops."""
    points = stops + 3
    depots, kinds = tables.supplies.shape
    return Scratch(
        np.zeros(points, POINT),
        np.zeros((points, tables.hours.shape[1], 2), np.int64),
        np.zeros((points, kinds), CALL),
        np.zeros(kinds, KIND),
        np.zeros(tables.held.shape[1], LEVEL),
        np.zeros((depots, kinds), np.int64),
        np.zeros(1, MONEY),
    )
