"""Room to work in: what the machine code writes while it judges one route, and the faults it tells of."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.compiled.tables import Floats, Ints, Records, Tables, record

INFEASIBLE = np.inf
# Faults, as far as the search tells them apart: what one more refill may cure, and what it cannot.
LAWFUL = 0
LOAD = 1
SUPPLY = 2
WEIGHT = 3
OTHER = 4


POINT = record(
    "place drive_s metres service_s begin leave arrive pause_s nothing washes lowest",
    "gross_g",
)
"""A point of a route: the leg to it, its service with loading and washing, the break after it, whether a call
takes nothing aboard or washes, the cleanest visit still to come, and the mass on leaving."""

CALL = record("wanted_ml taken_ml pail_ml pails")
"""Of one commodity at one call: to be pumped aboard, margin apart; pumped aboard; taken in pails; pails."""

KIND = record("need_ml need_pail_ml need_pails level_ml spare_ml")
"""Of one commodity: what later stops need pumped and in pails, what is in the tanks, the spare share."""

LOOK = record("truck stop fits")
"""A place that is looked at: before which stop of which truck, and whether the load fits."""

TRUCK = record("curable tries near")
"""Whether one refill more may help a truck to take the visit, places tried, and whether it comes near."""


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
    drawn_ml: Ints
    """[d, s]: taken at each depot by the route judged last"""
    trial: Ints
    """[i]: a route being tried"""
    trial2: Ints
    """[i]: another"""
    best: Ints
    """[i]: the best of those tried"""
    guess: Floats
    """[j]: what a visit costs at the j-th place that is looked at"""
    looks: Records
    """[j]"""
    ranked: Ints
    """[j]: places by their guess"""
    trucks: Records
    """[k]"""
    order: Ints
    """[v]: visits to be put into routes"""
    left: Ints
    """[v]: whether a visit was left out before the step"""


def longest_route(visits: int) -> int:
    """Stops that a route has room for: every visit, and two calls before most. No longer one is tried."""
    return 3 * visits + 12


def most_places(visits: int, trucks: int) -> int:
    """Places where a visit may go: before each stop and the end of every route."""
    return 3 * visits + trucks + 12


def scratch_for(tables: Tables) -> Scratch:
    """Room for the longest route of a day."""
    visits, trucks = len(tables.visits), len(tables.trucks)
    points = longest_route(visits) + 3
    places = most_places(visits, trucks)
    depots, kinds = tables.supplies.shape
    widest = max(tables.openings.shape[2], tables.hours.shape[1])
    return Scratch(
        np.zeros(points, POINT),
        np.zeros((points, widest, 2), np.int64),
        np.zeros((points, kinds), CALL),
        np.zeros(kinds, KIND),
        np.zeros((depots, kinds), np.int64),
        np.zeros(points, np.int64),
        np.zeros(points, np.int64),
        np.zeros(points, np.int64),
        np.zeros(places),
        np.zeros(places, LOOK),
        np.zeros(places, np.int64),
        np.zeros(trucks, TRUCK),
        np.zeros(visits, np.int64),
        np.zeros(visits, np.int64),
    )
