"""Least ways over tables of seconds or metres."""

from __future__ import annotations

import numpy as np

from routing.planning.bound_model import Floats


def least(pairs: list[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """The least seconds and, apart from that, the least money."""
    return np.minimum.reduce([p[0] for p in pairs]), np.minimum.reduce([p[1] for p in pairs])


def closed(table: Floats) -> Floats:
    """The table with detours over other places where they are shorter."""
    short = table.copy()
    np.fill_diagonal(short, 0.0)
    for k in range(len(short)):
        short = np.minimum(short, short[:, k : k + 1] + short[k : k + 1, :])
    return short


def reach(table: Floats, sources: list[int]) -> Floats:
    """The least from any of some places to every place, over any places between."""
    nearest = table[sources].min(axis=0)
    nearest[sources] = 0.0
    while True:
        further = np.minimum(nearest, (nearest[:, None] + table).min(axis=0))
        if np.array_equal(further, nearest):
            return np.asarray(nearest)
        nearest = further
