"""Say what driving each stretch of road costs one truck on one day, and where it may go at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.domain.road_settings import RoadSettings
from routing.domain.units import M_PER_KM, S_PER_H
from routing.travel.graph.graph import Ints, RoadGraph
from routing.travel.osm.roads import CAPS, DELAYS, KINDS

TIME_UNIT = 1 << 24
"""A cost is one whole number: hundredths of a second times this, plus decimetres.

The shortest path by it is the fastest and, of equally fast ones, the shortest; both parts are read back
exactly, without walking along the path. Sums stay whole in a float below 2**53: up to 62 days.
"""

CS, DM = 100, 10
"""Hundredths of a second in a second, decimetres in a metre."""

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Vehicle:
    """What a road may ask of a truck. ``gross_kg``: heaviest it can be while driving; ``rating_kg`` plated.

    None: not known, no limit applies.
    """

    gross_kg: float = 0.0
    rating_kg: float = 0.0
    height_m: float | None = None
    length_m: float | None = None
    width_m: float | None = None
    axle_kg: float | None = None


@dataclass(frozen=True)
class Costs:
    """Of every edge: ``forward`` and ``backward`` may be driven; hundredths of a second; decimetres."""

    time_cs: Ints
    length_dm: Ints
    ends_only: Mask
    roundabout: Mask
    kind: Ints
    node_delay_cs: Ints


def costs(graph: RoadGraph, settings: RoadSettings) -> Costs:
    """Times and lengths of all edges. A posted limit lowers the speed of a kind of road, never raises it."""
    speeds = np.array([getattr(settings, f"{kind}_km_per_h") for kind in KINDS])
    caps = np.array([np.inf, *(getattr(settings, f"{cap}_km_per_h") for cap in CAPS[1:])])
    posted = graph.fact("posted_km_per_h").astype(np.float64)
    posted[posted == 0] = np.inf
    kind = graph.fact("kind")
    speed = np.minimum(np.minimum(speeds[kind], caps[graph.fact("cap")]), posted)
    seconds = graph.length_m / (speed * M_PER_KM / S_PER_H)
    seconds = seconds + settings.ford_s * graph.fact("ford")
    delays = np.array([0.0, *(getattr(settings, f"{delay}_s") for delay in DELAYS[1:])])
    return Costs(
        time_cs=np.rint(seconds * CS).astype(np.int64),
        length_dm=np.maximum(1, np.rint(graph.length_m * DM)).astype(np.int64),
        ends_only=graph.fact("ends_only") > 0,
        roundabout=graph.fact("roundabout") > 0,
        kind=kind,
        node_delay_cs=np.rint(delays[graph.node_delay] * CS).astype(np.int64),
    )


def passable(graph: RoadGraph, vehicle: Vehicle, *, wet: bool) -> Mask:
    """Edges that a truck may drive on at all today."""
    open_ = np.ones(graph.edges, dtype=bool)
    for name, value in (
        ("max_kg", vehicle.gross_kg),
        ("max_rating_kg", vehicle.rating_kg),
        ("max_height_cm", 100 * (vehicle.height_m or 0)),
        ("max_length_cm", 100 * (vehicle.length_m or 0)),
        ("max_width_cm", 100 * (vehicle.width_m or 0)),
        ("max_axle_kg", vehicle.axle_kg or 0),
    ):
        limit = graph.fact(name)
        open_ &= (limit == 0) | (limit >= value)
    if wet:
        open_ &= (graph.fact("dry_only") == 0) & (graph.fact("ford") == 0)
    return open_


def blocked_nodes(graph: RoadGraph, *, wet: bool) -> Mask:
    """Nodes that cannot be driven through today."""
    return graph.node_closed | (graph.node_dry_only if wet else False)


def reachable(graph: RoadGraph, open_edges: Mask, *, wet: bool) -> Mask:
    """Edges that can be reached from, and left for, the largest connected road network.

    Roads on which a drive may only begin or end hang on it and join nothing. One-way streets that lead
    nowhere, and islands, are left out.
    """
    ends_only = graph.fact("ends_only") > 0
    core = _largest(graph, open_edges & ~ends_only, wet=wet)
    private = open_edges & ends_only
    into = _reached(graph, core, private, wet=wet, backward=False)
    out_of = _reached(graph, core, private, wet=wet, backward=True)
    blocked = blocked_nodes(graph, wet=wet)
    public = open_edges & ~ends_only & _joined(graph, core, blocked)
    return public | (private & _joined(graph, core | (into & out_of), blocked))


def _joined(graph: RoadGraph, inside: Mask, blocked: Mask) -> Mask:
    """Edges between nodes inside, and two-way ones that end at a barrier: they are driven up to it."""
    tail_in, head_in = inside[graph.tail], inside[graph.head]
    up_to = (tail_in & blocked[graph.head]) | (head_in & blocked[graph.tail])
    found: Mask = (tail_in & head_in) | (up_to & (graph.fact("open") == 3))
    return found


def _links(graph: RoadGraph, chosen: Mask, *, wet: bool) -> tuple[Ints, Ints]:
    """Tails and heads of the arcs of chosen edges; what cannot be driven through has no way out."""
    way = graph.fact("open")
    forward, backward = chosen & (way & 1 > 0), chosen & (way & 2 > 0)
    tail = np.concatenate([graph.tail[forward], graph.head[backward]])
    head = np.concatenate([graph.head[forward], graph.tail[backward]])
    blocked = blocked_nodes(graph, wet=wet)
    keep = ~(blocked[tail] | blocked[head])
    return tail[keep], head[keep]


def _largest(graph: RoadGraph, chosen: Mask, *, wet: bool) -> Mask:
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import connected_components

    tail, head = _links(graph, chosen, wet=wet)
    n = graph.nodes
    matrix = csr_array((np.ones(len(tail), dtype=np.int8), (tail, head)), shape=(n, n))
    _, label = connected_components(matrix, directed=True, connection="strong")
    found: Mask = label == np.argmax(np.bincount(label, minlength=1))
    return found


def _reached(graph: RoadGraph, core: Mask, chosen: Mask, *, wet: bool, backward: bool) -> Mask:
    """Nodes reached from the core over chosen edges, or that reach it."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order

    tail, head = _links(graph, chosen, wet=wet)
    if backward:
        tail, head = head, tail
    n = graph.nodes
    inside = np.flatnonzero(core)
    tail = np.concatenate([tail, np.full(len(inside), n)])
    head = np.concatenate([head, inside])
    matrix = csr_array((np.ones(len(tail), dtype=np.int8), (tail, head)), shape=(n + 1, n + 1))
    order = breadth_first_order(matrix, n, return_predecessors=False)
    found = np.zeros(n + 1, dtype=bool)
    found[order] = True
    return found[:n]
