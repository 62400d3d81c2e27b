"""Join places to the network of turns: where a drive begins and where it ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.travel.graph.arcs import TIME_UNIT, Costs
from routing.travel.graph.graph import Ints, RoadGraph
from routing.travel.osm.roads import RoadTags
from routing.travel.roads.snap import Snapped
from routing.travel.roads.turns import Turns

OPEN = RoadTags._fields.index("open")

PER_SHARE = 1 << 20
"""Shares of an edge are whole parts of this, so that nothing depends on the rounding of a machine."""


@dataclass(frozen=True)
class Network:
    """All links between states, and from and to places: ``origin[i]`` and ``target[i]`` are nodes.

    Link k drives ``arc[k]`` from ``begin[k]`` to ``end[k]``, shares of its length in the driven direction.
    """

    nodes: int
    tail: Ints
    head: Ints
    cost: Ints
    arc: Ints
    begin: Ints
    end: Ints
    origin: Ints
    target: Ints


def join_places(graph: RoadGraph, costs: Costs, turns: Turns, snapped: Snapped) -> Network:
    """The network of turns with an origin and a target for every place.

    A truck may set out in either direction: it turns round in the yard. A drive ends on a road without
    through traffic whichever way it came there.
    """
    order = np.argsort(turns.tail, kind="stable")
    start = np.searchsorted(turns.tail[order], np.arange(turns.states + 1))
    by_arc = np.argsort(turns.arc_of, kind="stable")
    first = np.searchsorted(turns.arc_of[by_arc], np.arange(2 * graph.edges + 1))
    rows: list[tuple[int, int, int, int, int, int]] = []
    n = len(snapped.edge)
    origin, target = turns.states + np.arange(n), turns.states + n + np.arange(n)
    shares = np.rint(snapped.share * PER_SHARE).astype(np.int64)
    for i, edge in enumerate(snapped.edge.tolist()):
        for arc, share in _arcs(graph, edge, int(shares[i])):
            left = _part(costs, edge, PER_SHARE - share)
            for link in order[start[arc] : start[arc + 1]].tolist():
                cost = int(turns.cost[link] - turns.arc_cost[arc]) + left
                rows.append((int(origin[i]), int(turns.head[link]), cost, arc, share, PER_SHARE))
            for state in by_arc[first[arc] : first[arc + 1]].tolist():
                rows.append((state, int(target[i]), _part(costs, edge, share), arc, 0, share))
    rows += _on_one_edge(graph, costs, snapped, shares, origin, target)
    more = np.array(sorted(rows), dtype=np.int64).reshape(-1, 6)
    whole = len(turns.tail)
    return Network(
        nodes=turns.states + 2 * n,
        tail=np.concatenate([turns.tail, more[:, 0]]),
        head=np.concatenate([turns.head, more[:, 1]]),
        cost=np.maximum(1, np.concatenate([turns.cost, more[:, 2]])),
        arc=np.concatenate([turns.arc_of[turns.tail], more[:, 3]]),
        begin=np.concatenate([np.zeros(whole, dtype=np.int64), more[:, 4]]),
        end=np.concatenate([np.full(whole, PER_SHARE), more[:, 5]]),
        origin=origin,
        target=target,
    )


def _arcs(graph: RoadGraph, edge: int, share: int) -> list[tuple[int, int]]:
    """Arcs of an edge with the share of them that lies before the place."""
    if edge < 0:
        return []
    way = int(graph.roads[graph.facts[edge], OPEN])
    found = [(2 * edge, share)] if way & 1 else []
    return found + ([(2 * edge + 1, PER_SHARE - share)] if way & 2 else [])


def _part(costs: Costs, edge: int, share: int) -> int:
    """The cost of a share of an edge, each part rounded up."""
    time = -(-int(costs.time_cs[edge]) * share // PER_SHARE)
    return time * TIME_UNIT - (-int(costs.length_dm[edge]) * share // PER_SHARE)


def _on_one_edge(
    graph: RoadGraph, costs: Costs, snapped: Snapped, shares: Ints, origin: Ints, target: Ints
) -> list[tuple[int, int, int, int, int, int]]:
    """Drives that never leave the edge they begin on."""
    by_edge: dict[int, list[int]] = {}
    for i, edge in enumerate(snapped.edge.tolist()):
        by_edge.setdefault(edge, []).append(i)
    rows = []
    for edge, places in by_edge.items():
        for i in places:
            for j in places:
                for (arc, begin), (_, end) in zip(
                    _arcs(graph, edge, int(shares[i])), _arcs(graph, edge, int(shares[j])), strict=True
                ):
                    if i != j and end >= begin:
                        cost = _part(costs, edge, end - begin)
                        rows.append((int(origin[i]), int(target[j]), cost, arc, begin, end))
    return rows
