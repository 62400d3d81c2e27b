"""Drive from every place to every other on a network: times, distances and the ways taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.travel.graph.arcs import TIME_UNIT
from routing.travel.graph.graph import Floats, Ints
from routing.travel.roads.core import Core

BYTES_AT_ONCE = 120_000_000
"""Memory for the searches that run together."""


@dataclass(frozen=True)
class Trees:
    """The ways from each origin to its targets, as trees: compact, and any way is read off from its end.

    Tree i is rows ``start[i]:start[i + 1]``. ``parent`` is a row of the same tree (counted from its start),
    -1 at the origin; ``link`` is the link of the core that leads there. ``leaf[i, j]`` is the row of target
    j in tree i, -1 where there is no way.
    """

    start: Ints
    parent: NDArray[np.int32]
    link: NDArray[np.int32]
    leaf: NDArray[np.int32]
    _open: dict[int, tuple[list[int], list[int]]] = field(default_factory=dict, repr=False, compare=False)

    def links(self, i: int, j: int) -> list[int]:
        """Links of the core along the way from origin i to target j."""
        parent, link = self._tree(i)
        row = int(self.leaf[i, j])
        found: list[int] = []
        while row >= 0:
            if (driven := link[row]) >= 0:
                found.append(driven)
            row = parent[row]
        found.reverse()
        return found

    def _tree(self, i: int) -> tuple[list[int], list[int]]:
        """One tree as lists, which are walked several times as fast as arrays; the last one is kept."""
        if (found := self._open.get(i)) is None:
            rows = slice(int(self.start[i]), int(self.start[i + 1]))
            found = self.parent[rows].tolist(), self.link[rows].tolist()
            self._open.clear()
            self._open[i] = found
        return found


def search(core: Core, origins: Ints, targets: Ints) -> tuple[Floats, Floats, Trees]:
    """Hundredths of a second and decimetres (infinite where there is no way), and the ways themselves."""
    # Drives that were worked out before are recalled without it: then nobody waits for scipy.
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import dijkstra

    matrix = csr_array((core.cost.astype(np.float64), (core.tail, core.head)), shape=(core.nodes,) * 2)
    n = len(origins)
    cost = np.empty((n, len(targets)))
    parts: list[tuple[Ints, Ints, Ints]] = []
    step = max(1, BYTES_AT_ONCE // (12 * core.nodes))
    for begin in range(0, n, step):
        chosen = origins[begin : begin + step]
        dist, before = dijkstra(matrix, indices=chosen, return_predecessors=True)
        cost[begin : begin + step] = dist[:, targets]
        for row, origin in enumerate(chosen.tolist()):
            reached = targets[np.isfinite(dist[row, targets])]
            parts.append(_tree(before[row], origin, targets, reached))
    found = np.where(np.isfinite(cost), cost, 0).astype(np.int64)
    time_cs = np.where(np.isfinite(cost), found // TIME_UNIT, np.inf)
    length_dm = np.where(np.isfinite(cost), found % TIME_UNIT, np.inf)
    return time_cs, length_dm, _planted(core, parts)


def _tree(before: NDArray[np.int32], origin: int, targets: Ints, reached: Ints) -> tuple[Ints, Ints, Ints]:
    """Nodes on any way from an origin to the targets reached, their parents, and the row of each target."""
    on = np.zeros(len(before), dtype=bool)
    on[origin] = True
    ahead: NDArray[Any] = reached[reached != origin]
    while len(ahead):
        on[ahead] = True
        ahead = before[ahead]
        ahead = ahead[~on[ahead]]
    nodes = np.flatnonzero(on)
    row = np.full(len(before) + 1, -1, dtype=np.int64)
    row[nodes] = np.arange(len(nodes))
    parent_node = np.where(nodes == origin, -1, before[nodes])
    return nodes, parent_node, row[targets]


def _planted(core: Core, parts: Sequence[tuple[Ints, Ints, Ints]]) -> Trees:
    key = core.tail * core.nodes + core.head
    start = np.concatenate([[0], np.cumsum([len(nodes) for nodes, _, _ in parts])]).astype(np.int64)
    parents, links = [], []
    for nodes, parent_node, _ in parts:
        has = parent_node >= 0
        parent = np.where(has, np.searchsorted(nodes, parent_node), -1)
        at = np.searchsorted(key, np.where(has, parent_node, 0) * core.nodes + nodes)
        parents.append(parent.astype(np.int32))
        links.append(np.where(has, at, -1).astype(np.int32))
    none = np.zeros(0, dtype=np.int32)
    return Trees(
        start=start,
        parent=np.concatenate([none, *parents]),
        link=np.concatenate([none, *links]),
        leaf=np.array([leaf for _, _, leaf in parts], dtype=np.int32).reshape(len(parts), -1),
    )
