"""Prepare lines for drawing: lanes where legs share a road, the quiet road network, compact coordinates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import pairwise

LonLat = tuple[float, float]
Point = tuple[int, int]
Segment = tuple[Point, Point]

SCALE = 100_000
"""Coordinates are drawn to 1e-5 degree, about a metre."""

LANES = 5
"""More lanes than this beside each other would leave the road; they are used again from the first."""


def whole(line: Iterable[LonLat]) -> list[Point]:
    """A line of (lon, lat) degrees as whole (lat, lon) steps of 1e-5 degree, without repeated points."""
    points: list[Point] = []
    for lon, lat in line:
        point = (round(lat * SCALE), round(lon * SCALE))
        if not points or points[-1] != point:
            points.append(point)
    return points


def packed(points: Sequence[Point]) -> list[int]:
    """First point, then the difference to each next one, in one flat list."""
    flat: list[int] = []
    previous = (0, 0)
    for point in points:
        flat += [point[0] - previous[0], point[1] - previous[1]]
        previous = point
    return flat


def lanes(lines: Sequence[Sequence[Point]]) -> list[int]:
    """Which lane each line is drawn in: 0 down the middle, 1 and up to the right of its direction.

    Lines that share any piece of road, in either direction, get lanes; two that go the same way get
    different ones, so that no truck hides another.
    """
    ways = [set(pairwise(points)) for points in lines]
    users = Counter(road for way in ways for road in {_undirected(segment) for segment in way})
    taken: dict[Segment, set[int]] = {}
    found = []
    for way in ways:
        lane = 0
        if any(users[_undirected(segment)] > 1 for segment in way):
            used = set().union(*(taken.get(segment, set()) for segment in way))
            lane = next(n for n in range(1, len(lines) + 2) if n not in used)
            for segment in way:
                taken.setdefault(segment, set()).add(lane)
        found.append((lane - 1) % LANES + 1 if lane else 0)
    return found


def network(lines: Iterable[Iterable[LonLat]], most_points: int = 40_000) -> list[list[Point]]:
    """Every piece of road once, as lines, until ``most_points`` are drawn (about 8 bytes each)."""
    seen: set[Segment] = set()
    drawn = 0
    roads: list[list[Point]] = []
    for line in lines:
        run: list[Point] = []
        points = whole(line)
        for a, b in pairwise(points):
            road = _undirected((a, b))
            if road in seen:
                run = []
                continue
            seen.add(road)
            if not run:
                run = [a]
                roads.append(run)
            run.append(b)
            drawn += 1
        if drawn >= most_points:
            break
    return roads


def _undirected(segment: Segment) -> Segment:
    return segment if segment[0] <= segment[1] else (segment[1], segment[0])
