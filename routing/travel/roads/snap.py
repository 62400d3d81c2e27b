"""Find the nearest usable stretch of road to each place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.travel.graph.arcs import Mask
from routing.travel.graph.graph import DEGREE, Floats, Ints, RoadGraph, steps_m
from routing.travel.osm.roads import KINDS
from routing.travel.straight.geodesic import geodesics_m

RADII_M = (300.0, 1_500.0, 6_000.0, 50_000.0)
"""Searched one after the other until a road is found."""

SAME_M = 0.1
"""Roads that are nearer than each other by less than this are equally near."""

BOTH_WAYS = 3
"""``RoadTags.open`` of a road without one-way rule."""

NO_STOPPING = ("motorway", "link")
"""Kinds of road beside which no place lies: nobody turns off them into a field."""

M_PER_DEGREE = 110_574.0
"""Metres in a degree of latitude at the equator, the shortest there is: search boxes never come out small."""


@dataclass(frozen=True)
class Snapped:
    """Where places meet the road: edge (-1: none in 50 km), share of its length, metres off, lon, lat."""

    edge: Ints
    share: Floats
    distance_m: Floats
    lon: Floats
    lat: Floats


class Snapper:
    """Answers for one graph and one set of usable edges, those left out where no truck may stop."""

    def __init__(self, graph: RoadGraph, usable: Mask) -> None:
        self.graph = graph
        self.free = (graph.fact("open") == BOTH_WAYS) & (graph.fact("ends_only") == 0)
        fenced = np.isin(graph.fact("kind"), [KINDS.index(kind) for kind in NO_STOPPING])
        counts = np.where(usable & ~fenced, graph.last - graph.first, 0)
        chosen = np.repeat(np.arange(graph.edges), counts)
        within = np.arange(len(chosen)) - np.repeat(np.cumsum(counts) - counts, counts)
        start = graph.first[chosen] + within
        y_a, y_b = graph.y[start], graph.y[start + 1]
        order = np.argsort(np.minimum(y_a, y_b), kind="stable")
        self.edge, self.start = chosen[order], start[order]
        self.low = np.minimum(y_a, y_b)[order]
        self.tallest = int(np.abs(y_b.astype(np.int64) - y_a).max(initial=0))

    def snap(self, lat: Floats, lon: Floats) -> Snapped:
        """The nearest point on a usable road to each place, given in degrees."""
        rows = [self._one(float(a), float(o)) for a, o in zip(lat, lon, strict=True)]
        edge, share, distance, at_lon, at_lat = (np.array(column) for column in zip(*rows, strict=True))
        return Snapped(edge.astype(np.int64), share, distance, at_lon, at_lat)

    def _one(self, lat: float, lon: float) -> tuple[int, float, float, float, float]:
        for radius_m in RADII_M:
            found = self._within(lat, lon, radius_m)
            if found is not None:
                return found
        return -1, 0.0, float("inf"), lon, lat

    def _within(
        self, lat: float, lon: float, radius_m: float
    ) -> tuple[int, float, float, float, float] | None:
        reach = radius_m / M_PER_DEGREE / DEGREE
        low, high = np.searchsorted(self.low, [lat / DEGREE - reach - self.tallest, lat / DEGREE + reach])
        start = self.start[low:high]
        # Metres east and north of the place, on a plane that is good to a metre within some kilometres.
        east_m = M_PER_DEGREE * 1.0067 * np.cos(np.radians(lat)) * DEGREE
        north_m = M_PER_DEGREE * DEGREE
        x = [(self.graph.x[p].astype(np.float64) - lon / DEGREE) * east_m for p in (start, start + 1)]
        near = np.flatnonzero((np.minimum(*x) <= radius_m) & (np.maximum(*x) >= -radius_m))
        if len(near) == 0:
            return None
        start = start[near]
        (ax, bx) = (values[near] for values in x)
        ay, by = ((self.graph.y[p].astype(np.float64) - lat / DEGREE) * north_m for p in (start, start + 1))
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy
        along = np.clip(-(ax * dx + ay * dy) / np.where(square > 0, square, 1.0), 0.0, 1.0)
        off_m = np.hypot(ax + along * dx, ay + along * dy)
        # Where roads meet, several are equally near: one that can be left both ways is the better choice.
        best = int(np.argmin(off_m + np.where(self.free[self.edge[low:high][near]], 0.0, SAME_M)))
        return self._placed(
            int(self.edge[low:high][near[best]]), int(start[best]), float(along[best]), lat, lon, radius_m
        )

    def _placed(
        self, edge: int, start: int, along: float, lat: float, lon: float, radius_m: float
    ) -> tuple[int, float, float, float, float] | None:
        """The point in degrees, its exact distance, and its share of the edge's length."""
        graph = self.graph
        at_lon = float(graph.x[start] + along * (int(graph.x[start + 1]) - int(graph.x[start]))) * DEGREE
        at_lat = float(graph.y[start] + along * (int(graph.y[start + 1]) - int(graph.y[start]))) * DEGREE
        distance = float(geodesics_m(lat, lon, at_lat, at_lon))
        if distance > radius_m:
            return None
        steps = steps_m(*graph.line(edge))
        done = float(steps[: start - graph.first[edge]].sum() + along * steps[start - graph.first[edge]])
        total = float(steps.sum())
        return edge, min(1.0, done / total) if total else 0.0, distance, at_lon, at_lat
