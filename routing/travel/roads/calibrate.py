"""Measure how crooked the roads between an operation's places are, for drives that are still estimated."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.domain.operation import Operation
from routing.travel.graph.arcs import DM
from routing.travel.graph.graph import RoadGraph
from routing.travel.roads.drives import drives
from routing.travel.roads.places import TOO_FAR_M, Ways, places_of
from routing.travel.roads.snap import Snapped, Snapper
from routing.travel.straight.geodesic import geodesic_table_m

FEWEST_PLACES = 5
"""Ten pairs: with fewer, one detour decides."""

SHORTEST_M = 1_000.0
"""Shorter legs say more about where places meet the road than about the roads."""


@dataclass(frozen=True)
class Measured:
    """Road metres over straight metres, all legs together, and between how many of the places."""

    circuity: float
    places: int
    of_places: int


def measured_circuity(operation: Operation, graph: RoadGraph) -> Measured | None:
    """The circuity of the roads between those places that a graph covers; None when they are too few.

    Sum of road distances over sum of straight distances, so that a round as a whole comes out right.
    """
    ways = Ways(graph, operation)
    usable = ways.reachable(ways.any_truck(0.0))
    places = places_of(operation)
    lat, lon = np.array([p.lat for p in places]), np.array([p.lon for p in places])
    snapped = Snapper(graph, usable).snap(lat, lon)
    near = np.flatnonzero(snapped.distance_m <= TOO_FAR_M)
    if len(near) < FEWEST_PLACES:
        return None
    part = Snapped(*(getattr(snapped, name)[near] for name in ("edge", "share", "distance_m", "lon", "lat")))
    made = drives(graph, usable, part, operation.roads)
    straight_m = geodesic_table_m(part.lat, part.lon)
    chosen = (straight_m >= SHORTEST_M) & np.isfinite(made.length_dm)
    if not chosen.any():
        return None
    road_m = made.length_dm[chosen].sum() / DM
    circuity = max(1.0, round(float(road_m / straight_m[chosen].sum()), 2))
    return Measured(circuity, len(near), len(places))
