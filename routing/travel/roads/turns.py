"""Link stretches of road by turns: delays, forbidden turns, roads without through traffic."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.arcs import CS, TIME_UNIT, Costs, Mask
from routing.travel.graph.graph import Floats, Ints, RoadGraph
from routing.travel.roads.memory import Remembering, remember_ways

TURN_DEGREES, SHARP_DEGREES = 45.0, 120.0
"""From these changes of direction on, a bend at a junction is a turn, and a sharp one. Estimate."""


@dataclass(frozen=True)
class Turns:
    """States and the links between them.

    Arcs are edges in one direction: number 2e forward, 2e + 1 backward. A state is "about to drive an arc".
    The state with the arc's own number has nothing to remember: a drive may begin in it. Others of the same
    arc (``arc_of``) remember that the drive came from a public road to one without through traffic, where it
    must end, or that it has begun a row of roads that may not be driven to its end. ``cost`` of a link is
    driving its first arc and turning into its second.
    """

    states: int
    arc_of: Ints
    arc_cost: Ints
    tail: Ints
    head: Ints
    cost: Ints


def link_turns(graph: RoadGraph, costs: Costs, usable: Mask, blocked: Mask, settings: RoadSettings) -> Turns:
    """All turns between usable edges. Nobody turns round on the road."""
    arcs = 2 * graph.edges
    edge = np.arange(arcs) >> 1
    way = graph.fact("open")[edge]
    backward = np.arange(arcs) & 1 > 0
    exists = usable[edge] & np.where(backward, way & 2 > 0, way & 1 > 0)
    begin = np.where(backward, graph.head[edge], graph.tail[edge])
    end = np.where(backward, graph.tail[edge], graph.head[edge])
    before, after = _pairs(np.flatnonzero(exists), begin, end, graph.nodes)
    keep = (edge[before] != edge[after]) & ~blocked[end[before]]
    before, after = before[keep], after[keep]
    if len(graph.no_turn):
        keep = ~_is_forbidden(graph, edge[before], end[before], edge[after])
        before, after = before[keep], after[keep]
    arc_cost = costs.time_cs[edge] * TIME_UNIT + costs.length_dm[edge]
    delay_cs = costs.node_delay_cs[end[before]] + _turn_cs(graph, costs, before, after, settings)
    link = arc_cost[before] + delay_cs * TIME_UNIT
    seen = remember_ways(arcs, before, after, link, graph.no_way, graph.no_way_start)
    return _layers(costs.ends_only[seen.arc_of >> 1], seen, arc_cost)


def _pairs(arcs: Ints, begin: Ints, end: Ints, nodes: int) -> tuple[Ints, Ints]:
    """Every arc with every arc that begins where it ends."""
    out = arcs[np.argsort(begin[arcs], kind="stable")]
    count = np.bincount(begin[out], minlength=nodes)
    start = np.concatenate([[0], np.cumsum(count)])
    each = count[end[arcs]]
    before = np.repeat(arcs, each)
    within = np.arange(len(before)) - np.repeat(np.cumsum(each) - each, each)
    return before, out[start[end[before]] + within]


def _is_forbidden(graph: RoadGraph, from_edge: Ints, node: Ints, to_edge: Ints) -> Mask:
    rows = graph.no_turn
    key = (from_edge * graph.nodes + node) * graph.edges + to_edge
    bad = (rows[:, 0] * graph.nodes + rows[:, 1]) * graph.edges + rows[:, 2]
    found: Mask = np.isin(key, bad)
    return found


def _turn_cs(graph: RoadGraph, costs: Costs, before: Ints, after: Ints, settings: RoadSettings) -> Ints:
    """Hundredths of a second lost in each turn: none where only two roads meet, or within a roundabout."""
    leaving, coming = _headings(graph)
    change = np.abs((leaving[after] - coming[before] + 180.0) % 360.0 - 180.0)
    degree = np.bincount(graph.tail, minlength=graph.nodes) + np.bincount(graph.head, minlength=graph.nodes)
    end = np.where(before & 1, graph.tail[before >> 1], graph.head[before >> 1])
    junction = (degree[end] > 2) & ~(costs.roundabout[before >> 1] & costs.roundabout[after >> 1])
    turn, sharp = round(settings.turn_s * CS), round(settings.sharp_turn_s * CS)
    lost = np.where(change >= SHARP_DEGREES, sharp, np.where(change >= TURN_DEGREES, turn, 0))
    return np.where(junction, lost, 0).astype(np.int64)


def _headings(graph: RoadGraph) -> tuple[Floats, Floats]:
    """Degrees in which each arc sets out, and in which it arrives."""
    set_out = _bearing(graph, graph.first, graph.first + 1)
    arrive = _bearing(graph, graph.last - 1, graph.last)
    leaving, coming = np.empty(2 * graph.edges), np.empty(2 * graph.edges)
    leaving[0::2], leaving[1::2] = set_out, arrive + 180.0
    coming[0::2], coming[1::2] = arrive, set_out + 180.0
    return leaving, coming


def _bearing(graph: RoadGraph, a: Ints, b: Ints) -> Floats:
    north = (graph.y[b].astype(np.float64) - graph.y[a]) * 1e-7
    middle = np.radians(graph.y[a] * 1e-7)
    east = (graph.x[b].astype(np.float64) - graph.x[a]) * 1e-7 * np.cos(middle)
    found: Floats = np.degrees(np.arctan2(east, north))
    return found


def _layers(private: Mask, seen: Remembering, arc_cost: Ints) -> Turns:
    """Allow private roads at the beginning and the end of a drive alone."""
    states = len(private)
    before, after = seen.before, seen.after
    arriving = np.full(states, -1, dtype=np.int64)
    numbered = np.flatnonzero(private)
    arriving[numbered] = states + np.arange(len(numbered))
    into = ~private[before] & private[after]
    within = private[before] & private[after]
    return Turns(
        states=states + len(numbered),
        arc_of=np.concatenate([seen.arc_of, seen.arc_of[numbered]]),
        arc_cost=arc_cost,
        tail=np.concatenate([before, arriving[before[within]]]),
        head=np.concatenate([np.where(into, arriving[after], after), arriving[after[within]]]),
        cost=np.concatenate([seen.cost, seen.cost[within]]),
    )
