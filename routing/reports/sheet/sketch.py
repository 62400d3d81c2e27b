"""Lay out a small map of one route for the printed page: lines, arrows, dots and numbers, in millimetres."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

DOT_MM, HOUSE_MM, LETTER_MM, LINE_MM, GAP_MM = 1.0, 1.7, 2.1, 3.6, 0.8
ARROW_EVERY_MM, ARROW_LEAST_MM = 34.0, 9.0
DASHES: tuple[tuple[float, ...], ...] = ((), (2.2, 1.3), (0.6, 1.2), (3.2, 1.1, 0.6, 1.1))
"""Line and gap of each load; the fifth begins again."""


@dataclass(frozen=True)
class Dot:
    """A stop. ``number`` stands at ``label`` (left edge, middle height); None where no place was free."""

    at: Point
    number: str
    house: bool
    starving: bool
    quarantine: bool
    label: Point | None


@dataclass(frozen=True)
class Sketch:
    """The route within a unit of ``width`` by ``height`` mm; ``arrows`` are (place, heading in radians)."""

    width: float
    height: float
    lines: tuple[tuple[tuple[Point, ...], tuple[float, ...]], ...] = ()
    arrows: tuple[tuple[Point, float], ...] = ()
    dots: tuple[Dot, ...] = ()


@dataclass(frozen=True)
class Ground:
    """The route in degrees of longitude and latitude, ready to be fitted to any room."""

    legs: tuple[tuple[tuple[Point, ...], int], ...]
    stops: tuple[tuple[Point, str, bool, bool, bool], ...]

    def fitted(self, width: float, height: float) -> Sketch:
        """The sketch that fills a room as well as its shape allows."""
        points = [p for line, _ in self.legs for p in line] + [at for at, *_ in self.stops]
        if not points or width <= 0 or height <= 0:
            return Sketch(width, height)
        margin = 5.0
        middle = math.radians(sum(lat for _, lat in points) / len(points))
        flat = [(lon * math.cos(middle), -lat) for lon, lat in points]
        x0, y0 = min(x for x, _ in flat), min(y for _, y in flat)
        span_x = max(max(x for x, _ in flat) - x0, 1e-6)
        span_y = max(max(y for _, y in flat) - y0, 1e-6)
        scale = min((width - 2 * margin) / span_x, (height - 2 * margin) / span_y)
        left, top = (width - span_x * scale) / 2, (height - span_y * scale) / 2

        def place(at: Point) -> Point:
            return (at[0] * math.cos(middle) - x0) * scale + left, (-at[1] - y0) * scale + top

        lines = tuple(
            (tuple(_thinned(map(place, line))), DASHES[trip % len(DASHES)]) for line, trip in self.legs
        )
        marks = [(place(at), number, house, hungry, sick) for at, number, house, hungry, sick in self.stops]
        dots = tuple(_numbered(marks, [line for line, _ in lines], width, height))
        return Sketch(width, height, lines, tuple(_arrows([line for line, _ in lines], dots)), dots)


def _thinned(points: Iterator[Point] | map[Point]) -> Iterator[Point]:
    """Points at least a fifth of a millimetre apart."""
    last: Point | None = None
    for point in points:
        if last is None or math.dist(last, point) > 0.2:
            last = point
            yield point


def _numbered(
    marks: Sequence[tuple[Point, str, bool, bool, bool]],
    lines: Sequence[Sequence[Point]],
    width: float,
    height: float,
) -> Iterator[Dot]:
    """Each stop with its number where it covers no dot, no other number and as little line as may be."""
    rims = [
        (at, HOUSE_MM if house else 2.2 if starving or sick else DOT_MM)
        for at, _, house, starving, sick in marks
    ]
    taken: list[Box] = []
    for (at, number, house, starving, sick), (_, rim) in zip(marks, rims, strict=True):
        best: tuple[float, Box] | None = None
        for i, box in enumerate(_places(at, rim, LETTER_MM * len(number))) if number else ():
            inside = box[0] > 0 and box[1] > 0 and box[2] < width and box[3] < height
            if not inside or any(_meet(box, other) for other in taken):
                continue
            if any(_reach(box, other) < r + 0.2 for other, r in rims if other != at):
                continue
            cost = 0.3 * i + sum(_covered(box, line) for line in lines)
            if best is None or cost < best[0]:
                best = cost, box
        if best:
            taken.append(best[1])
        label = (best[1][0], (best[1][1] + best[1][3]) / 2) if best else None
        yield Dot(at, number, house, starving, sick, label)


def _places(at: Point, rim: float, wide: float) -> Iterator[Box]:
    x, y = at
    near, half = rim + GAP_MM, LINE_MM / 2
    for left, top in (
        (x + near, y - half), (x - near - wide, y - half), (x - wide / 2, y - near - LINE_MM + 0.5),
        (x - wide / 2, y + near - 0.5), (x + near * 0.8, y - near * 0.8 - LINE_MM + 0.6),
        (x + near * 0.8, y + near * 0.8 - 0.6), (x - near * 0.8 - wide, y - near * 0.8 - LINE_MM + 0.6),
        (x - near * 0.8 - wide, y + near * 0.8 - 0.6),
    ):  # fmt: skip
        yield left, top, left + wide, top + LINE_MM


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _reach(box: Box, at: Point) -> float:
    dx = max(box[0] - at[0], 0.0, at[0] - box[2])
    dy = max(box[1] - at[1], 0.0, at[1] - box[3])
    return math.hypot(dx, dy)


def _covered(box: Box, line: Sequence[Point]) -> float:
    """About how many millimetres of a line lie under a box."""
    total = 0.0
    for a, b in pairwise(line):
        if (
            min(a[0], b[0]) > box[2]
            or max(a[0], b[0]) < box[0]
            or min(a[1], b[1]) > box[3]
            or max(a[1], b[1]) < box[1]
        ):
            continue
        steps = max(1, int(math.dist(a, b)))
        for k in range(steps + 1):
            x, y = a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps
            total += box[0] <= x <= box[2] and box[1] <= y <= box[3]
    return total


def _arrows(lines: Sequence[Sequence[Point]], dots: Sequence[Dot]) -> Iterator[tuple[Point, float]]:
    """One arrow on every leg that has room for it, more on long ones, off every dot."""
    for line in lines:
        total = sum(math.dist(a, b) for a, b in pairwise(line))
        if total < ARROW_LEAST_MM:
            continue
        count = max(1, int(total / ARROW_EVERY_MM))
        for k in range(count):
            at, heading = _along(line, total * (k + 0.56) / count)
            if all(math.dist(at, dot.at) > 3.0 for dot in dots):
                yield at, heading


def _along(line: Sequence[Point], way: float) -> tuple[Point, float]:
    for a, b in pairwise(line):
        step = math.dist(a, b)
        if way <= step and step:
            share = way / step
            at = a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
            return at, math.atan2(b[1] - a[1], b[0] - a[0])
        way -= step
    return line[-1], math.atan2(line[-1][1] - line[-2][1], line[-1][0] - line[-2][0])
