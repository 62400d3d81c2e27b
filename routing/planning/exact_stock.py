"""What a truck's trips must draw from depots that hold little, and which visits no stock can serve together.

Draws count what is poured; spare syrup drawn on top is not counted, and spare left aboard from an earlier
call, or the morning's level, is taken off.
"""

from __future__ import annotations

import numpy as np

from routing.planning.exact_subsets import Floats, shared
from routing.planning.exact_trips import Calls

SLACK_ML = 2.0


class Stocks:
    """The limited stocks that a truck may draw on, in a fixed order."""

    def __init__(self, calls: Calls) -> None:
        self.calls, self.sets, self.problem = calls, calls.subsets, calls.problem
        depots = sorted(set(calls.depots))
        self.stock_ml = {
            (d, s): float(supply.stock_ml)
            for d in depots
            for s, supply in enumerate(self.problem.depots[d].supplies)
            if supply is not None and supply.stock_ml is not None
        }
        self.keys = list(self.stock_ml)

    def possible(self) -> Floats:
        """By subset 0 where the stocks may serve it in one round, else infinity."""
        sets, found = self.sets, np.zeros(self.sets.count)
        depots = sorted(set(self.calls.depots))
        for kind, bulk in enumerate(sets.bulk_ml):
            supplied = [d for d in depots if self.problem.depots[d].supplies[kind] is not None]
            level = self.calls.spec.level_ml[kind]
            amounts = [self.stock_ml.get((d, kind), np.inf) for d in supplied]
            if np.inf in amounts:
                continue
            need = bulk + sets.pail_ml[kind]
            found[need > sum(amounts) + level + SLACK_ML] = np.inf
            # Spare syrup of one depot may serve in place of another's.
            spare = level + self.problem.margin * bulk[-1] + SLACK_ML
            fits = [np.where(bulk <= amount + spare, 0.0, np.inf) for amount in amounts]
            alone = np.where(bulk <= level + SLACK_ML, 0.0, np.inf)
            found += shared(fits, alone, sets.parts)
        return found

    def draw(
        self, drawn: tuple[float, ...], aboard: tuple[float, ...], call: int, subset: int, end: int
    ) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
        """Drawn in all, and the most that may be left aboard by kind, after a trip; None past a stock.

        ``drawn`` and ``aboard`` are what they were before.
        """
        depot = self.calls.depots[call]
        spec, after = self.problem.depots[depot], self._kinds_at(end)
        taken, kept = dict(zip(self.keys, drawn, strict=True)), []
        for kind, supply in enumerate(spec.supplies):
            need = float(self.sets.bulk_ml[kind][subset])
            spare = self.calls.spare_ml(kind)
            have = aboard[kind]
            if supply is None:
                kept.append(min(spare, have))
                continue
            known = subset > 0 and after[kind]
            kept.append(min(spare, max(0.0, have - need) + self.problem.margin * need) if known else spare)
            key = (depot, kind)
            if key in taken:
                taken[key] += max(0.0, need - have)
                if spec.pails:
                    taken[key] += float(self.sets.pail_ml[kind][subset])
                if taken[key] > self.stock_ml[key] + SLACK_ML:
                    return None
        return tuple(taken.values()), tuple(kept)

    def _kinds_at(self, end: int) -> list[bool]:
        """By kind whether a trip's end settles what its beginning supplied: home, or a call that has it."""
        if end == 0:
            return [True] * len(self.sets.bulk_ml)
        return [supply is not None for supply in self.problem.depots[self.calls.depots[end]].supplies]
