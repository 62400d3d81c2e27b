"""Cut ways into edges at junctions, and turn what was read into a road graph."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from routing.travel.graph.graph import Floats, Ints, RoadGraph, steps_m
from routing.travel.graph.rules import forbidden
from routing.travel.osm.read import RawRoads
from routing.travel.osm.roads import RoadTags

OPEN = RoadTags._fields.index("open")


class _Cut(NamedTuple):
    """Edges by the positions of their first and last point, nodes numbered from 0."""

    first: Ints
    last: Ints
    way: Ints
    node_of: Ints
    refs: Ints


def build_graph(raw: RawRoads, meta: dict[str, Any]) -> RoadGraph:
    """The road graph of what was read. ``meta`` is kept with it."""
    x, y = np.array(raw.x, dtype=np.int32), np.array(raw.y, dtype=np.int32)
    cut = _cut(raw)
    length_m = _lengths(x, y, cut)
    tail, head = cut.node_of[cut.first], cut.node_of[cut.last]
    way_id = np.array(raw.way_id, dtype=np.int64)[cut.way]
    facts = np.array(raw.facts, dtype=np.int64)[cut.way]
    delay = np.zeros(len(cut.refs), dtype=np.int64)
    closed, dry_only = np.zeros(len(cut.refs), dtype=bool), np.zeros(len(cut.refs), dtype=bool)
    where = {ref: i for i, ref in enumerate(cut.refs.tolist()) if ref in raw.nodes}
    for ref, i in where.items():
        found = raw.nodes[ref]
        closed[i], delay[i], dry_only[i] = found.closed, found.delay, found.dry_only
    roads = np.array([list(map(int, kind)) for kind in raw.kinds], dtype=np.int64)
    rules = forbidden(raw, way_id, tail, head, roads[facts, OPEN], cut.refs)
    return RoadGraph(
        x=x, y=y, first=cut.first, last=cut.last, tail=tail, head=head, facts=facts,
        roads=roads,
        length_m=length_m, node_delay=delay, node_closed=closed, node_dry_only=dry_only,
        no_turn=rules.no_turn, no_way=rules.no_way, no_way_start=rules.no_way_start,
        meta={
            **meta, "skipped": dict(sorted(raw.skipped.items())), "strict": dict(sorted(raw.strict.items())),
        },
    )  # fmt: skip


def _cut(raw: RawRoads) -> _Cut:
    """Cut at the ends of ways, where ways meet, and at points that hold a truck up."""
    ref = np.array(raw.ref, dtype=np.int64)
    start = np.array(raw.start, dtype=np.int64)
    names, number, count = np.unique(ref, return_inverse=True, return_counts=True)
    is_node = count >= 2
    is_node[np.isin(names, np.fromiter(raw.nodes, np.int64, len(raw.nodes)))] = True
    at = is_node[number]
    at[start[:-1]] = True
    at[start[1:] - 1] = True
    position = np.flatnonzero(at)
    way = np.searchsorted(start, position, side="right") - 1
    same = way[:-1] == way[1:]
    first, last = position[:-1][same], position[1:][same]
    used, where = np.unique(number[position], return_inverse=True)
    node_of = np.full(len(ref), -1, dtype=np.int64)
    node_of[position] = where
    return _Cut(first, last, way[:-1][same], node_of, names[used])


def _lengths(x: NDArray[np.int32], y: NDArray[np.int32], cut: _Cut) -> Floats:
    along = np.concatenate([[0.0], np.cumsum(steps_m(x, y))])
    # Steps from the end of one way to the start of the next lie in no edge.
    found: Floats = along[cut.last] - along[cut.first]
    return found
