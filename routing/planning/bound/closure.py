"""Least ways over tables of seconds or metres."""

from __future__ import annotations

import numpy as np

from routing.planning.bound.numbers import Floats


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


def parts(shares: Floats, k: int) -> Floats:
    """Shares of a whole counted in k-ths: more than j / (k + 1) of it is j of them."""
    return np.asarray(levels(shares, k) / k)


def levels(shares: Floats, k: int) -> Floats:
    """How many of k levels shares of a whole fill: more than j / (k + 1) of it is j of them.

    What fits together does so when counted: the j of shares that sum to s are whole numbers whose sum is
    below (k + 1) s (dual feasible functions; G.S. Lueker, "Bin packing with items uniformly distributed over
    intervals [a, b]", FOCS 1983).
    """
    return np.asarray(np.maximum(0.0, np.ceil((k + 1) * shares - 1e-9) - 1.0))
