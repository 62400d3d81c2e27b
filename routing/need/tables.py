"""Interpolate in published tables."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import exp, log

from routing.domain.errors import require

Table = Sequence[tuple[float, float]]


def interpolate(table: Table, x: float, what: str) -> float:
    """Straight line between the two rows around ``x``.

    Raises ``ValueRefused``, naming ``what``, when ``x`` lies outside the table.
    """
    first, last = table[0][0], table[-1][0]
    require(first <= x <= last, f"{what}: the table holds for {first:g} to {last:g}, not {x:g}")
    return extrapolate(table, x)


def clamped(table: Table, x: float) -> float:
    """As ``interpolate``, but the end rows hold beyond the ends."""
    return extrapolate(table, min(max(x, table[0][0]), table[-1][0]))


def clamped_log(table: Table, x: float) -> float:
    """As ``clamped``, on the logarithm of the value (for what grows by factors)."""
    return exp(clamped([(key, log(value)) for key, value in table], x))


def extrapolate(table: Table, x: float) -> float:
    """Straight line between the two nearest rows, drawn on beyond the ends."""
    segments = list(pairwise(table))
    place = bisect_right([row[0] for row in table], x) - 1
    (x0, y0), (x1, y1) = segments[min(max(place, 0), len(segments) - 1)]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
