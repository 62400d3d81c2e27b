"""Room to try routes in: what the search writes while it changes them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Floats, Ints, Records, record

PLACE = record("truck stop fits")
"""A place that is looked at: before which stop of which truck, and whether the load fits."""

TRUCK = record("curable tries near")
"""Whether one refill more may help a truck to take the visit, places tried, and whether it comes near."""


class Trials(NamedTuple):
    """What the search writes beside the routes."""

    route: Ints
    """[i]: a route being tried"""
    other: Ints
    """[i]: another"""
    best: Ints
    """[i]: the best of those tried"""
    guess: Floats
    """[j]: what a visit costs at the j-th place that is looked at"""
    places: Records
    """[j]"""
    ranked: Ints
    """[j]: places by their guess"""
    trucks: Records
    """[k]"""
    order: Ints
    """[v]: visits to be put into routes"""
    left: Ints
    """[v]: whether a visit was left out before the step"""
    chance: Ints
    """[2]: the state of chance"""


def trials_for(tables: Tables, stops: int) -> Trials:
    """Room for routes of so many stops."""
    visits, trucks, points = len(tables.visits), len(tables.trucks), stops + 3
    places = 3 * visits + trucks + 12
    return Trials(
        np.zeros(points, np.int64),
        np.zeros(points, np.int64),
        np.zeros(points, np.int64),
        np.zeros(places),
        np.zeros(places, PLACE),
        np.zeros(places, np.int64),
        np.zeros(trucks, TRUCK),
        np.zeros(visits, np.int64),
        np.zeros(visits, np.int64),
        np.ones(2, np.int64),
    )
