"""Hold a road network as arrays: stretches of road between junctions, with what limits them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.travel.osm.roads import RoadTags
from routing.travel.straight.geodesic import geodesics_m

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

DEGREE = 1e-7
"""Degrees in one step of a stored coordinate."""


@dataclass(frozen=True)
class RoadGraph:
    """Edges (stretches of road between two nodes) and nodes (junctions, ends, gates).

    The points of edge e are ``x[first[e]:last[e] + 1]`` (longitude) and ``y`` (latitude), 1e-7 degrees.
    ``facts[e]`` is the row of ``roads`` (columns in the order of ``RoadTags``). ``no_turn`` has rows
    (edge, node, edge). Row k of ``no_way`` is ``no_way[no_way_start[k]:no_way_start[k + 1]]``: three or more
    arcs that may not be driven one after the other (arc 2e is edge e forward, 2e + 1 backward).
    ``node_delay`` numbers into ``DELAYS``. ``meta`` says where it all comes from.
    """

    x: NDArray[np.int32]
    y: NDArray[np.int32]
    first: Ints
    last: Ints
    tail: Ints
    head: Ints
    facts: Ints
    roads: Ints
    length_m: Floats
    node_delay: Ints
    node_closed: NDArray[np.bool_]
    node_dry_only: NDArray[np.bool_]
    no_turn: Ints
    no_way: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    no_way_start: Ints = field(default_factory=lambda: np.zeros(1, dtype=np.int64))
    meta: dict[str, Any] = field(default_factory=dict)

    @property
    def nodes(self) -> int:
        """How many nodes there are."""
        return len(self.node_delay)

    @property
    def edges(self) -> int:
        """How many edges there are."""
        return len(self.tail)

    def fact(self, name: str) -> Ints:
        """One fact of every edge, by its name in ``RoadTags``."""
        found: Ints = self.roads[:, RoadTags._fields.index(name)][self.facts]
        return found

    def line(self, edge: int) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        """Longitudes and latitudes along an edge, 1e-7 degrees."""
        part = slice(self.first[edge], self.last[edge] + 1)
        return self.x[part], self.y[part]


def steps_m(x: Any, y: Any) -> Floats:
    """Metres from each point to the next; coordinates in 1e-7 degrees."""
    lon, lat = np.asarray(x) * DEGREE, np.asarray(y) * DEGREE
    return geodesics_m(lat[:-1], lon[:-1], lat[1:], lon[1:])
