"""Tell whether the arrays of a road graph fit each other, so that none points beyond another."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from routing.travel.graph.graph import DEGREE, RoadGraph
from routing.travel.osm.roads import CAPS, DELAYS, KINDS, RoadTags

_EDGE = ("first", "last", "tail", "head", "facts", "length_m")
_NODE = ("node_delay", "node_closed", "node_dry_only")
_LISTS = (*_EDGE, *_NODE, "x", "y", "no_way", "no_way_start")


def misfit(graph: RoadGraph) -> str:
    """What does not fit, by the name of the array; nothing where all does."""
    return next((name for name, fits in _checks(graph) if not fits), "")


def _checks(graph: RoadGraph) -> Iterator[tuple[str, bool]]:
    """Each check with the array it is about; a check may rest on those before it."""
    for name in _LISTS:
        array = getattr(graph, name)
        yield name, (array.ndim == 1 and array.dtype.kind in "iub") or name == "length_m"
    yield "length_m", graph.length_m.ndim == 1 and graph.length_m.dtype.kind == "f"
    yield "roads", graph.roads.ndim == 2 and graph.roads.shape[1] == len(RoadTags._fields)
    yield "roads", graph.roads.dtype.kind in "iu"
    yield "no_turn", graph.no_turn.ndim == 2 and graph.no_turn.shape[1] == 3
    yield "no_turn", graph.no_turn.dtype.kind in "iu"
    for name in _EDGE:
        yield name, len(getattr(graph, name)) == graph.edges
    for name in _NODE:
        yield name, len(getattr(graph, name)) == graph.nodes
    yield "y", len(graph.y) == len(graph.x)
    yield "x", _within(graph.x, round(-180 / DEGREE), round(180 / DEGREE) + 1)
    yield "y", _within(graph.y, round(-90 / DEGREE), round(90 / DEGREE) + 1)
    yield "first", _within(graph.first, 0, len(graph.x)) and bool(np.all(graph.first <= graph.last))
    yield "last", _within(graph.last, 0, len(graph.x))
    yield "tail", _within(graph.tail, 0, graph.nodes)
    yield "head", _within(graph.head, 0, graph.nodes)
    yield "length_m", bool(np.all(np.isfinite(graph.length_m) & (graph.length_m >= 0)))
    yield "roads", bool(np.all(graph.roads >= 0))
    yield "facts", _within(graph.facts, 0, len(graph.roads))
    yield "roads", _within(graph.fact("kind"), 0, len(KINDS)) and _within(graph.fact("cap"), 0, len(CAPS))
    yield "node_delay", _within(graph.node_delay, 0, len(DELAYS))
    yield "no_turn", _within(graph.no_turn[:, (0, 2)], 0, graph.edges)
    yield "no_turn", _within(graph.no_turn[:, 1], 0, graph.nodes)
    yield "no_way", _within(graph.no_way, 0, 2 * graph.edges)
    start = graph.no_way_start
    yield "no_way_start", len(start) > 0 and start[0] == 0 and start[-1] == len(graph.no_way)
    yield "no_way_start", bool(np.all(np.diff(start) >= 0))


def _within(array: NDArray[np.int_] | NDArray[np.int32], low: int, high: int) -> bool:
    return len(array) == 0 or bool(array.min() >= low and array.max() < high)
