"""Add up what every subset of a small day's visits asks for: a subset is a number, one bit a visit."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache

import numpy as np
from numpy import bool_, float64, int64
from numpy.typing import NDArray

from routing.planning.problem.problem import Problem

Floats = NDArray[float64]
Ints = NDArray[int64]
Bools = NDArray[bool_]


def sums(values: Sequence[float]) -> Floats:
    """The sum over each subset."""
    found = np.zeros(1)
    for value in values:
        found = np.concatenate([found, found + value])
    return found


class Subsets:
    """Tables over all subsets of the visits of a problem, each indexed by the subset."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.visits = problem, len(problem.visits)
        self.count = 1 << self.visits
        self.everything = self.count - 1
        kinds = range(len(problem.density_g_ml))
        visits = problem.visits
        self.bulk_ml = [sums([v.bulk_ml[s] for v in visits]) for s in kinds]
        self.pail_ml = [sums([v.pail_ml[s] if v.pails else 0 for v in visits]) for s in kinds]
        self.pails_of = [sums([v.pails[s] if v.pails else 0 for v in visits]) for s in kinds]
        self.pails = sums([v.pail_count for v in visits])
        # Syrup and full pails that must be aboard before the first of them is served.
        self.mass_g = sums(problem.mass_g)
        self.left_price = sums([v.value + problem.dear * v.required for v in visits])[::-1].copy()
        """What it costs to leave out all visits but these."""
        ranks = sorted({0, *(v.rank for v in visits)})
        self.ranks = len(ranks)
        self.rank = [ranks.index(v.rank) for v in visits]
        """Hygiene ranks by position among those of the day."""

    @cached_property
    def cleanest(self) -> Ints:
        """The lowest rank in each subset; above all ranks when it is empty."""
        found = np.full(1, self.ranks, dtype=int64)
        for rank in self.rank:
            found = np.concatenate([found, np.minimum(found, rank)])
        return found

    @cached_property
    def foulest(self) -> Ints:
        """The highest rank in each subset."""
        found = np.zeros(1, dtype=int64)
        for rank in self.rank:
            found = np.concatenate([found, np.maximum(found, rank)])
        return found

    @cached_property
    def release_s(self) -> Floats:
        """Before when a trip to all of them may not leave its depot."""
        found = np.full(1, -1e9)
        for visit in self.problem.visits:
            found = np.concatenate([found, np.maximum(found, float(visit.release_s))])
        return found

    @cached_property
    def parts(self) -> list[Ints]:
        """All subsets of each subset, the empty one first."""
        some, _, first = splits(self.visits)
        return np.split(some, first[1:])

    @cached_property
    def by_size(self) -> list[Ints]:
        """The subsets of each size."""
        sizes = sums([1] * self.visits)
        return [np.flatnonzero(sizes == size) for size in range(self.visits + 1)]


def shared(costs: list[Floats], left: Floats) -> Floats:
    """By subset of visits that are still open: the least that trucks with such costs and leaving out cost.

    ``left[subset]`` is the price of leaving out the subset.
    """
    some, rest, first = splits(len(left).bit_length() - 1)
    found = left
    for cost in costs:
        found = np.minimum.reduceat(cost[some] + found[rest], first)
    return found


@lru_cache(maxsize=4)
def splits(visits: int) -> tuple[Ints, Ints, Ints]:
    """Every subset of every subset, what is left of the latter, and where each of the latter begins."""
    found = [np.zeros(1, dtype=int64)]
    for subset in range(1, 1 << visits):
        bit = subset & -subset
        without = found[subset ^ bit]
        found.append(np.concatenate([without, without | bit]))
    sizes = [len(parts) for parts in found]
    some = np.concatenate(found)
    return some, np.repeat(np.arange(1 << visits), sizes) ^ some, np.cumsum([0, *sizes[:-1]])
