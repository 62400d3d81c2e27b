"""Keep the ng-set of each visit: the visits that a relaxed round still remembers there.

Relaxed rounds are ng-routes: a visit may come again once it is forgotten (R. Baldacci, A. Mingozzi &
R. Roberti, Operations Research 59(5):1269, 2011).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from routing.planning.bound.model import FAR, TruckModel


class Order(Protocol):
    """Anything that visits places in order (positions in a model)."""

    @property
    def visits(self) -> tuple[int, ...]:
        """The visits in order."""
        ...


def nearest_sets(model: TruckModel, most: int) -> list[list[int]]:
    """For each visit the ``most`` others that it is cheapest to come from or go to."""
    between = np.minimum.reduce([way.money[:-1] for way in model.ways])
    between = np.minimum(between, between.T)
    return [[int(j) for j in np.argsort(row, kind="stable")[:most] if row[j] < FAR] for row in between]


def enlarge(sets: list[list[int]], rounds: Sequence[Order], most: int) -> bool:
    """Have visits that rounds came back to remembered on the way between; whether any set has grown.

    No set grows beyond ``most``.
    """
    grown = False
    for found in rounds:
        seen: dict[int, int] = {}
        for at, i in enumerate(found.visits):
            between = sorted(set(found.visits[seen[i] + 1 : at])) if i in seen else []
            if all(i in sets[j] or len(sets[j]) < most for j in between):
                for j in between:
                    if i not in sets[j]:
                        sets[j].append(i)
                        grown = True
            seen[i] = at
    return grown


class NgStates:
    """The states (visit, which of its ng-set have been met) and the moves between them.

    Attributes
    ----------
    table : array of int, [visit, i]
        The ng-sets, padded with -1.
    first : array of int, [visit + 1]
        The first state of each visit: the one that remembers nothing.
    visit : array of int, [state]
        The visit of each state.
    source, target, pair : array of int, [move]
        Moves by target: the states they lead from and to, and from-visit * visits + to-visit.
    """

    def __init__(self, sets: Sequence[Sequence[int]]) -> None:
        n = len(sets)
        self.width = max(map(len, sets), default=0)
        self.table = np.full((n, self.width), -1, dtype=np.int64)
        for i, some in enumerate(sets):
            self.table[i, : len(some)] = some
        self.first = np.cumsum([0, *(1 << len(some) for some in sets)])
        self.count = int(self.first[-1])
        position = np.full((n, n), -1)
        for i, some in enumerate(sets):
            position[i, list(some)] = range(len(some))
        sources, targets, pairs = [], [], []
        for j, some in enumerate(sets):
            masks = np.arange(1 << len(some))
            bits = (masks[:, None] >> np.arange(len(some))) & 1
            held = np.where(position[:, list(some)].T >= 0, 1 << np.maximum(0, position[:, list(some)].T), 0)
            mine = np.where(position[:, j] >= 0, 1 << np.maximum(0, position[:, j]), 0)
            after = bits @ held + mine if len(some) else np.broadcast_to(mine, (1, n))
            free = np.ones((len(masks), n), dtype=bool)
            free[:, j] = False
            for b, i in enumerate(some):
                free[:, i] &= bits[:, b] == 0
            mask, to = np.nonzero(free)
            sources.append(self.first[j] + mask)
            targets.append(self.first[to] + after[mask, to])
            pairs.append(j * n + to)
        self.source, target, self.pair = (np.concatenate(part) for part in (sources, targets, pairs))
        order = np.argsort(target, kind="stable")
        self.source, self.target, self.pair = self.source[order], target[order], self.pair[order]
        self.visit = np.repeat(np.arange(n), [1 << len(some) for some in sets])
