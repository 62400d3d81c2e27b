"""Forbid ways over several roads: let a drive remember the last ones where it matters."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from routing.travel.graph.graph import Ints

Arcs = tuple[int, ...]


class Remembering(NamedTuple):
    """States and links: the first ``len(arc_of) - copies`` states are the arcs themselves.

    A copy is "about to drive an arc, having just driven these others". Link k goes from state ``before[k]``
    to ``after[k]`` at ``cost[k]``.
    """

    arc_of: Ints
    before: Ints
    after: Ints
    cost: Ints


def remember_ways(
    arcs: int, before: Ints, after: Ints, cost: Ints, no_way: Ints, no_way_start: Ints
) -> Remembering:
    """Links between arcs, and with the memory that keeps a drive off every forbidden row of arcs.

    The states are those of a string-matching automaton over the rows (Aho and Corasick 1975, Efficient string
    matching, Communications of the ACM 18:333-340): each begun row is a copy of its last arc.
    """
    rows = [tuple(no_way[a:b].tolist()) for a, b in pairwise(no_way_start.tolist())]
    begun = sorted({row[:n] for row in rows for n in range(2, len(row))})
    state = {part: arcs + i for i, part in enumerate(begun)}
    ends = {(row[:-1], row[-1]) for row in rows}
    order = np.argsort(before, kind="stable")
    start = np.searchsorted(before[order], np.arange(arcs + 1))
    more: list[tuple[int, int, int]] = []
    for part in begun:
        for link in order[start[part[-1]] : start[part[-1] + 1]].tolist():
            there = (*part, int(after[link]))
            if not any((there[k:-1], there[-1]) in ends for k in range(len(part) - 1)):
                more.append((state[part], _reached(there, state), int(cost[link])))
    after = after.copy()
    for link in np.flatnonzero(np.isin(before, [part[0] for part in begun])).tolist():
        after[link] = state.get((int(before[link]), int(after[link])), after[link])
    added = np.array(more, dtype=np.int64).reshape(-1, 3)
    return Remembering(
        arc_of=np.concatenate([np.arange(arcs), np.array([part[-1] for part in begun], dtype=np.int64)]),
        before=np.concatenate([before, added[:, 0]]),
        after=np.concatenate([after, added[:, 1]]),
        cost=np.concatenate([cost, added[:, 2]]),
    )


def _reached(driven: Arcs, state: dict[Arcs, int]) -> int:
    """The state after driving some arcs: the longest begun row that they end with, else the last arc."""
    for k in range(len(driven) - 1):
        if (found := state.get(driven[k:])) is not None:
            return found
    return driven[-1]
