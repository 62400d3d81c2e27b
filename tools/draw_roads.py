"""Draw the invented roads of Sorrel County: ``python -m tools.draw_roads`` writes them beside the tables.

Nothing here is a real road. Section-line gravel roads about three miles apart, some of them missing, paved
highways each way, some roads across, a river with few bridges, and a track or drive to every yard and depot.
"""

from __future__ import annotations

import bz2
import csv
import math
import random
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parents[1] / "data_demo" / "sorrel_county"
OUT = HERE / "roads.osm.bz2"
SEED = 32
CREDIT = "Invented roads of an invented county, no map data of anybody"

Point = tuple[float, float]
"""(lat, lon) in degrees."""

SOUTH, WEST, ROWS, COLUMNS = 46.515, -109.090, 13, 26
STEP_LAT, STEP_LON = 0.0450, 0.0657
"""Five kilometres."""

PRIMARY_ROW, SECONDARY_ROW, PRIMARY_COLUMN, SECONDARY_COLUMN = 6, 10, 11, 17
MISSING = 0.05
ACROSS = 0.3
BRIDGE_EVERY = 3

HIGHWAY = {"highway": "primary", "surface": "asphalt"}
PAVED = {"highway": "secondary", "surface": "asphalt"}
GRAVEL = {"highway": "unclassified", "surface": "gravel"}
TRACK = {"highway": "track", "tracktype": "grade2"}
SPECIAL = {
    "Y12": {"highway": "track", "tracktype": "grade2"},
    "Y18": {"highway": "track", "tracktype": "grade3"},
    "Y20": {"highway": "track", "tracktype": "grade2", "bridge": "yes", "maxweight": "11000 lbs"},
    "Y29": {"highway": "track", "tracktype": "grade4", "surface": "clay"},
    "Y24": {"highway": "track", "tracktype": "grade4"},
    "Y22": {"highway": "service", "surface": "gravel"},
}
"""Roads to the yards that the demo tells of; the others have a gravelled track."""


class Roads:
    """Points and ways, numbered as they come, and written as OpenStreetMap XML."""

    def __init__(self) -> None:
        self.points: list[tuple[Point, dict[str, str]]] = []
        self.ways: list[tuple[list[int], dict[str, str]]] = []

    def point(self, at: Point, **tags: str) -> int:
        """A new point; its number."""
        self.points.append(((round(at[0], 6), round(at[1], 6)), tags))
        return len(self.points)

    def xml(self) -> str:
        """The file: deterministic, in the order nodes, ways."""
        lines = [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<osm version="0.6" generator="feedround: invented roads" copyright="{CREDIT}">',
        ]
        for number, ((lat, lon), tags) in enumerate(self.points, start=1):
            lines.append(
                f'<node id="{number}" version="1" lat="{lat:.6f}" lon="{lon:.6f}">{_tags(tags)}</node>'
            )
        for number, (refs, tags) in enumerate(self.ways, start=1):
            refs_xml = "".join(f'<nd ref="{ref}"/>' for ref in refs)
            lines.append(f'<way id="{number}" version="1">{refs_xml}{_tags(tags)}</way>')
        return "\n".join([*lines, "</osm>", ""])


class Segment:
    """A road between two crossings, with points along it that tracks may join."""

    def __init__(self, ends: tuple[int, int], line: list[Point], tags: dict[str, str]) -> None:
        self.ends, self.line, self.tags = ends, line, tags
        self.joins: list[tuple[int, float, int]] = []

    def nearest(self, place: Point) -> tuple[float, int, float, Point]:
        """Metres to the place, the piece and share of it that is nearest, and the point there."""
        best = (math.inf, 0, 0.0, place)
        for i, (a, b) in enumerate(zip(self.line, self.line[1:], strict=False)):
            (ax, ay), (bx, by) = _flat(a, place), _flat(b, place)
            dx, dy = bx - ax, by - ay
            t = min(0.95, max(0.05, -(ax * dx + ay * dy) / (dx * dx + dy * dy)))
            off = math.hypot(ax + t * dx, ay + t * dy)
            if off < best[0]:
                best = (off, i, t, (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        return best


def draw() -> str:
    """The XML of all roads."""
    dice = random.Random(SEED)
    roads = Roads()
    crossing = {
        (i, j): (
            SOUTH + j * STEP_LAT + dice.uniform(-0.004, 0.004),
            WEST + i * STEP_LON + dice.uniform(-0.006, 0.006),
        )
        for i in range(COLUMNS)
        for j in range(ROWS)
    }
    number = {key: roads.point(at) for key, at in crossing.items()}
    segments = [
        Segment((number[a], number[b]), _wavy(dice, crossing[a], crossing[b]), tags)
        for a, b, tags in _kept(dice, crossing)
    ]
    for place_id, at in _places():
        _join(dice, roads, segments, place_id, at)
    for segment in segments:
        inner = [(i + 1, 0.0, roads.point(at)) for i, at in enumerate(segment.line[1:-1])]
        # A join lies after the point that its piece begins with.
        along = sorted([*inner, *segment.joins])
        roads.ways.append(([segment.ends[0], *(ref for _, _, ref in along), segment.ends[1]], segment.tags))
    return roads.xml()


def _kept(
    dice: random.Random, crossing: dict[tuple[int, int], Point]
) -> list[tuple[tuple[int, int], tuple[int, int], dict[str, str]]]:
    """Roads between neighbouring crossings; some gravel roads are missing, as long as all stays joined."""
    found: list[tuple[tuple[int, int], tuple[int, int], dict[str, str]]] = []
    maybe = []
    for (i, j), at in crossing.items():
        for other in ((i + 1, j), (i, j + 1)):
            if other not in crossing:
                continue
            tags = _kind((i, j), other)
            over = tags is GRAVEL and other[0] == i and _river(at) != _river(crossing[other])
            missing = (over and i % BRIDGE_EVERY != 1) or (tags is GRAVEL and dice.random() < MISSING)
            (maybe if missing else found).append(((i, j), other, tags))
        if (i + 1, j + 1) in crossing and dice.random() < ACROSS:
            corners = ((i, j), (i + 1, j + 1)) if dice.random() < 0.5 else ((i + 1, j), (i, j + 1))
            if _river(crossing[corners[0]]) == _river(crossing[corners[1]]):
                found.append((*corners, GRAVEL))
    group = {key: key for key in crossing}

    def root(key: tuple[int, int]) -> tuple[int, int]:
        while group[key] != key:
            key = group[key]
        return key

    for a, b, _ in found:
        group[root(a)] = root(b)
    for a, b, tags in maybe:
        if root(a) != root(b):
            group[root(a)] = root(b)
            found.append((a, b, tags))
    return found


def _kind(a: tuple[int, int], b: tuple[int, int]) -> dict[str, str]:
    if a[1] == b[1]:
        return {PRIMARY_ROW: HIGHWAY, SECONDARY_ROW: PAVED}.get(a[1], GRAVEL)
    return {PRIMARY_COLUMN: HIGHWAY, SECONDARY_COLUMN: PAVED}.get(a[0], GRAVEL)


def _river(at: Point) -> bool:
    """Whether a point lies north of the river, which runs from west to east in bends."""
    return at[0] > 46.715 + 0.05 * math.sin((at[1] + 109.0) * 5.0)


def _wavy(dice: random.Random, a: Point, b: Point) -> list[Point]:
    """A road that follows the ground a little."""
    across = (b[1] - a[1]) * 0.68, -(b[0] - a[0]) / 0.68
    bend = dice.uniform(-0.04, 0.04)
    inner = []
    for t in (0.25, 0.5, 0.75):
        side = bend * math.sin(math.pi * t) + dice.uniform(-0.015, 0.015)
        inner.append(
            (a[0] + t * (b[0] - a[0]) + side * across[0], a[1] + t * (b[1] - a[1]) + side * across[1])
        )
    return [a, *inner, b]


def _places() -> Iterator[tuple[str, Point]]:
    for name, key in (("depots", "depot_id"), ("yards", "yard_id")):
        with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                yield row[key], (float(row["lat"]), float(row["lon"]))


def _join(dice: random.Random, roads: Roads, segments: list[Segment], place_id: str, at: Point) -> None:
    """A track from the nearest road to a place, with a bend, and what the demo tells of it."""
    segment = min(segments, key=lambda s: s.nearest(at)[0])
    _, piece, share, meet = segment.nearest(at)
    tags = SPECIAL.get(place_id, TRACK if place_id.startswith("Y") else {"highway": "service"})
    side = dice.uniform(-0.2, 0.2)
    bend = (
        (at[0] + meet[0]) / 2 + side * (at[1] - meet[1]) * 0.68,
        (at[1] + meet[1]) / 2 - side * (at[0] - meet[0]) / 0.68,
    )
    held = {"Y12": {"ford": "yes"}, "Y05": {"barrier": "gate"}, "Y02": {"barrier": "gate"}}.get(place_id, {})
    joined = roads.point(meet)
    segment.joins.append((piece, share, joined))
    roads.ways.append(([joined, roads.point(bend, **held), roads.point(at)], tags))


def _flat(point: Point, origin: Point) -> tuple[float, float]:
    """Metres east and north of an origin, near it."""
    east = (point[1] - origin[1]) * 111_320 * math.cos(math.radians(origin[0]))
    return east, (point[0] - origin[0]) * 111_180


def _tags(tags: dict[str, str]) -> str:
    return "".join(f'<tag k="{key}" v="{value}"/>' for key, value in tags.items())


if __name__ == "__main__":
    OUT.write_bytes(bz2.compress(draw().encode()))
