"""What a truck's trips must draw from depots that hold little, and which visits the stock left can serve.

Draws count what is poured, less what may be aboard from an earlier call or the morning's level. Spare syrup
drawn on top counts only where it surely is taken: where neither legal mass nor a gate can be in its way.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.exact.subsets import Bools, Floats, Ints, Subsets, shared, sums
from routing.planning.exact.trips import Calls, may_visit
from routing.planning.problem.problem import Problem

SLACK_ML = 2.0
MOST_PACKED = 9


class Drawn(NamedTuple):
    """Drawn so far of each limited stock, and by kind the most that may be aboard beyond what was planned."""

    ml: tuple[float, ...]
    aboard: tuple[float, ...]


class Stocks:
    """The limited stocks that a truck may draw on, in a fixed order."""

    def __init__(self, calls: Calls) -> None:
        self.calls, self.sets, self.problem = calls, calls.subsets, calls.problem
        self.depots = sorted(set(calls.depots))
        self.stock_ml = {
            (d, s): float(supply.stock_ml)
            for d in self.depots
            for s, supply in enumerate(self.problem.depots[d].supplies)
            if supply is not None and supply.stock_ml is not None
        }
        self.place = {key: i for i, key in enumerate(self.stock_ml)}
        self.spares_surely = spares_surely(self.sets, calls.truck)
        self._packings = [self._packing(kind) for kind in range(len(self.sets.bulk_ml))]

    def nothing(self) -> Drawn:
        """Before the first call."""
        return Drawn((0.0,) * len(self.place), tuple(map(float, self.calls.spec.level_ml)))

    def _packing(self, kind: int) -> _Packing | None:
        """How the visits that want a kind can share the depots' stocks; None where one has no limit."""
        supplied = [d for d in self.depots if self.problem.depots[d].supplies[kind] is not None]
        keys = [(d, kind) for d in supplied]
        return (
            _Packing(self.sets, kind, [self.place[k] for k in keys])
            if all(k in self.place for k in keys)
            else None
        )

    def enough(self, drawn: Drawn, subsets: Ints) -> Bools:
        """Which subsets the stocks that are left may serve."""
        found = np.ones(len(subsets), dtype=bool)
        stock = tuple(self.stock_ml.values())
        for kind, packing in enumerate(self._packings):
            if packing is not None:
                left = tuple(stock[i] - drawn.ml[i] for i in packing.places)
                found &= packing.enough(left, drawn.aboard[kind], subsets)
        return found

    def allows(self, drawn: Drawn, call: int, subsets: Ints) -> Bools:
        """Trips that a call's own stock may serve."""
        depot, found = self.calls.depots[call], np.ones(len(subsets), dtype=bool)
        for (d, kind), i in self.place.items():
            if d == depot:
                need = np.maximum(0.0, self.sets.bulk_ml[kind][subsets] - drawn.aboard[kind])
                if self.problem.depots[d].pails:
                    need += self.sets.pail_ml[kind][subsets]
                found &= drawn.ml[i] + need <= self.stock_ml[d, kind] + SLACK_ML
        return found

    def draw(self, drawn: Drawn, call: int, subset: int, end: int) -> Drawn | None:
        """After a trip to a subset that ends so; None past a stock."""
        depot = self.calls.depots[call]
        spec, settled = self.problem.depots[depot], self._settled(end)
        taken, aboard = list(drawn.ml), list(drawn.aboard)
        for kind, supply in enumerate(spec.supplies):
            if supply is None:
                continue
            need, have = float(self.sets.bulk_ml[kind][subset]), drawn.aboard[kind]
            spare = self._spare(kind, need) if settled[kind] else self.calls.spare_ml(kind)
            aboard[kind] = max(have - need, spare)
            i = self.place.get((depot, kind))
            if i is not None:
                taken[i] += max(0.0, need - have)
                if self.spares_surely and settled[kind] and need > have:
                    taken[i] += max(0.0, spare - 1.0)
                if spec.pails:
                    taken[i] += float(self.sets.pail_ml[kind][subset])
                if taken[i] > self.stock_ml[depot, kind] + SLACK_ML:
                    return None
        return Drawn(tuple(taken), tuple(aboard))

    def _spare(self, kind: int, need: float) -> float:
        """The most that is taken aboard beyond a need that is known."""
        return max(0.0, min(need * self.problem.margin, self.calls.spec.capacity_ml[kind] - need))

    def _settled(self, end: int) -> list[bool]:
        """By kind whether a trip's end settles what its beginning supplied: home, or a call that has it."""
        if end == 0:
            return [True] * len(self.sets.bulk_ml)
        return [supply is not None for supply in self.problem.depots[self.calls.depots[end]].supplies]


def served_together(stocks: list[Stocks]) -> Bools:
    """Which subsets all trucks together may serve from the stocks that they share."""
    sets = stocks[0].sets
    everything = np.arange(sets.count)
    found: Bools = np.ones(sets.count, dtype=bool)
    shared_ml = {key: ml for one in stocks for key, ml in one.stock_ml.items()}
    for kind in range(len(sets.bulk_ml)):
        depots = {d for one in stocks for d in one.depots if one.problem.depots[d].supplies[kind] is not None}
        keys = [(d, kind) for d in sorted(depots)]
        if all(key in shared_ml for key in keys):
            level = float(sum(one.calls.spec.level_ml[kind] for one in stocks))
            left = tuple(shared_ml[key] for key in keys)
            found &= _Packing(sets, kind, []).enough(left, level, everything)
    return found


def spares_surely(sets: Subsets, truck: int) -> bool:
    """Whether the spare share is taken aboard in full wherever tanks allow, whatever a truck serves.

    It is when all that the day asks for, or that the tanks hold, is within the legal mass and every gate's.
    """
    problem: Problem = sets.problem
    spec = problem.trucks[truck]
    mass_g = float(spec.tare_g)
    for kind, bulk in enumerate(sets.bulk_ml):
        most = max(spec.level_ml[kind], bulk[-1] * (1 + problem.margin))
        mass_g += min(spec.capacity_ml[kind], most) * problem.density_g_ml[kind]
        mass_g += float(sets.pail_ml[kind][-1]) * problem.density_g_ml[kind]
    mass_g += max(float(sets.pails[-1]), spec.pail_slots) * problem.pail_g
    gates = [v.max_gross_g for v in problem.visits if v.max_gross_g is not None and may_visit(v, truck)]
    return mass_g + 1000 <= min([spec.gross_g, *gates])


class _Packing:
    """Which of the visits that want a kind pumped can share what several depots have left."""

    def __init__(self, sets: Subsets, kind: int, places: list[int]) -> None:
        self.places, self._margin = places, sets.problem.margin
        wants = [v.bulk_ml[kind] for v in sets.problem.visits]
        members = [i for i, ml in enumerate(wants) if ml]
        self.total: Floats = sets.bulk_ml[kind] + sets.pail_ml[kind]
        self.small = len(members) <= MOST_PACKED
        self._known: dict[tuple[float, ...], Bools] = {}
        if self.small:
            masks = np.arange(sets.count)
            self._member_set = np.zeros(sets.count, dtype=np.int64)
            for bit, i in enumerate(members):
                self._member_set |= (masks >> i & 1) << bit
            self._wants = sums([wants[i] for i in members])

    def enough(self, left: tuple[float, ...], level: float, subsets: Ints) -> Bools:
        """Which subsets can be served: in all, and, for a few visits, each whole from one depot.

        ``level`` is aboard. It, and what is spare from other depots, may serve in place of any depot's stock.
        """
        found: Bools = self.total[subsets] <= sum(left) + level + SLACK_ML
        if not self.small or not found.any():
            return found
        packed = self._known.get((*left, level))
        if packed is None:
            spare = level + self._margin * (self._wants[-1] - self._wants) + SLACK_ML
            fits = [np.where(self._wants <= ml + spare, 0.0, np.inf) for ml in left]
            alone = np.where(self._wants <= level + SLACK_ML, 0.0, np.inf)
            packed = np.isfinite(shared(fits, alone))
            self._known[(*left, level)] = packed
        return found & packed[self._member_set[subsets]]
