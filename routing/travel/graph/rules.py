"""Find the turns that an extract forbids among the edges that its roads were cut into."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np

from routing.travel.graph.graph import Ints
from routing.travel.osm.read import RawRoads
from routing.travel.osm.turns import Turn

UNCLEAR = "turn restriction whose roads are not there or not clear"

MOST_EDGES = 60
"""Edges of the roads that a restriction goes over: beyond this it is no turn but a mistake."""

Arcs = tuple[int, ...]


class Forbidden(NamedTuple):
    """``no_turn``, ``no_way`` and ``no_way_start`` of a ``RoadGraph``."""

    no_turn: Ints
    no_way: Ints
    no_way_start: Ints


class _Edges(NamedTuple):
    """What restrictions need of the edges: ends, directions, by way and by node."""

    tail: dict[int, int]
    head: dict[int, int]
    open: dict[int, int]
    of_way: dict[int, list[int]]
    at: dict[int, list[int]]

    def leaving(self, node: int) -> Iterator[int]:
        """Arcs that may be driven out of a node."""
        for edge in self.at.get(node, ()):
            if self.tail[edge] == node and self.open[edge] & 1:
                yield 2 * edge
            if self.head[edge] == node and self.open[edge] & 2:
                yield 2 * edge + 1

    def coming(self, node: int) -> Iterator[int]:
        """Arcs that may be driven into a node."""
        for edge in self.at.get(node, ()):
            if self.head[edge] == node and self.open[edge] & 1:
                yield 2 * edge
            if self.tail[edge] == node and self.open[edge] & 2:
                yield 2 * edge + 1

    def end(self, arc: int) -> int:
        """The node that an arc leads to."""
        return self.tail[arc >> 1] if arc & 1 else self.head[arc >> 1]


def forbidden(raw: RawRoads, way_id: Ints, tail: Ints, head: Ints, open_: Ints, refs: Ints) -> Forbidden:
    """Every turn that restrictions forbid; 'only' is told by forbidding the others.

    ``way_id``, ``tail``, ``head`` and ``open_`` are of edges, ``refs`` the ids of nodes. Restrictions whose
    roads are not clear are counted in ``raw``.
    """
    if not raw.turns:
        return _packed((), ())
    edges = _edges(raw.turns, way_id, tail, head, open_, refs)
    vias = np.array(sorted({turn.via_node for turn in raw.turns}), dtype=np.int64)
    node_of = {int(refs[node]): node for node in np.flatnonzero(np.isin(refs, vias)).tolist()}
    turns: set[tuple[int, int, int]] = set()
    ways: set[Arcs] = set()
    for turn in raw.turns:
        over = _over_ways(turn, edges) if turn.via_ways else []
        at_node = [] if turn.via_ways else _at_node(turn, node_of.get(turn.via_node, -1), edges)
        if over is None or at_node is None:
            raw.skip(UNCLEAR)
        ways |= set(over or ())
        turns |= set(at_node or ())
    return _packed(sorted(turns), sorted(ways))


def _packed(turns: Iterable[tuple[int, int, int]], ways: Iterable[Arcs]) -> Forbidden:
    ways = list(ways)
    return Forbidden(
        np.array(list(turns), dtype=np.int64).reshape(-1, 3),
        np.array([arc for way in ways for arc in way], dtype=np.int64),
        np.cumsum([0, *(len(way) for way in ways)], dtype=np.int64),
    )


def _edges(turns: Iterable[Turn], way_id: Ints, tail: Ints, head: Ints, open_: Ints, refs: Ints) -> _Edges:
    """The edges of the roads named, and those that meet them."""
    turns = list(turns)
    named = np.array(sorted({w for t in turns for w in (t.from_way, *t.via_ways, t.to_way)}), dtype=np.int64)
    chosen = np.isin(way_id, named)
    of_way: dict[int, list[int]] = {}
    for edge in np.flatnonzero(chosen).tolist():
        of_way.setdefault(int(way_id[edge]), []).append(edge)
    wanted = np.zeros(len(refs), dtype=bool)
    wanted[tail[chosen]] = wanted[head[chosen]] = True
    at: dict[int, list[int]] = {}
    near = np.flatnonzero(wanted[tail] | wanted[head]).tolist()
    for edge in near:
        for node in {int(tail[edge]), int(head[edge])}:
            at.setdefault(node, []).append(edge)
    tails, heads, opens = ({edge: int(values[edge]) for edge in near} for values in (tail, head, open_))
    return _Edges(tails, heads, opens, of_way, at)


def _at_node(turn: Turn, node: int, edges: _Edges) -> list[tuple[int, int, int]] | None:
    """Rows (edge, node, edge); None where the roads are not clear."""
    here = edges.at.get(node, [])
    begin = [e for e in here if e in edges.of_way.get(turn.from_way, ())]
    end = [e for e in here if e in edges.of_way.get(turn.to_way, ())]
    if len(begin) != 1 or not end:
        # A way that runs through the junction does not say from which side.
        return None
    others = [e for e in here if e not in end] if turn.only else end
    return [(begin[0], node, e) for e in others if e != begin[0]]


def _over_ways(turn: Turn, edges: _Edges) -> list[Arcs] | None:
    """Arcs that may not follow each other; None where the roads are not clear.

    'Only' speaks of who has come over all of what lies between: he must go on as prescribed. Who turns off
    it before its end is free to.
    """
    between = {e for way in turn.via_ways for e in edges.of_way.get(way, ())}
    if not 0 < len(between) <= MOST_EDGES:
        return None
    nodes = sorted({n for e in between for n in (edges.tail[e], edges.head[e])})
    first, last = edges.of_way.get(turn.from_way, []), set(edges.of_way.get(turn.to_way, []))
    found: list[tuple[Arcs, int]] = []
    for start in nodes:
        into = [a for a in edges.coming(start) if a >> 1 in first and a >> 1 not in between]
        if len(into) != 1:
            continue
        for end in nodes:
            out = [a for a in edges.leaving(end) if a >> 1 in last and a >> 1 not in between]
            if end != start and out and (way := _along(start, end, between, edges)):
                found.append(((into[0], *way), end))
    if len(found) != 1:
        return None
    (way, end), after = found[0], []
    for arc in edges.leaving(end):
        if arc >> 1 != way[-1] >> 1 and (arc >> 1 in last and arc >> 1 not in between) != turn.only:
            after.append(arc)
    return [(*way, arc) for arc in after]


def _along(start: int, end: int, between: set[int], edges: _Edges) -> Arcs:
    """The arcs from node to node over given edges, fewest first; none when they do not lead there."""
    before: dict[int, int] = {start: -1}
    ahead = [start]
    while ahead and end not in before:
        reached = []
        for node in ahead:
            for arc in edges.leaving(node):
                if arc >> 1 in between and (there := edges.end(arc)) not in before:
                    before[there] = arc
                    reached.append(there)
        ahead = reached
    found: list[int] = []
    node = end
    while before.get(node, -1) >= 0:
        found.append(arc := before[node])
        node = edges.end(arc ^ 1)
    return tuple(reversed(found))
