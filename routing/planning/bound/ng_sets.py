"""What a round remembers at each visit, and the moves between states of memory."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


class Memory:
    """What a round remembers at each visit, and the moves between states (visit, what is remembered)."""

    def __init__(self, near: Sequence[Sequence[int]]) -> None:
        self.near = [list(some) for some in near]
        n = len(near)
        self.width = max(map(len, near), default=0)
        self.table = np.full((n, self.width), -1, dtype=np.int64)
        for i, some in enumerate(near):
            self.table[i, : len(some)] = some
        self.first = np.cumsum([0, *(1 << len(some) for some in near)])
        self.states = int(self.first[-1])
        position = np.full((n, n), -1)
        for i, some in enumerate(near):
            position[i, list(some)] = range(len(some))
        sources, targets, pairs = [], [], []
        for j, some in enumerate(near):
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
        self.visit = np.repeat(np.arange(n), [1 << len(some) for some in near])
