"""Hand a road graph on as a networkx MultiDiGraph, for a look, a plot or an analysis of one's own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.arcs import CS, Vehicle, costs, passable, reachable
from routing.travel.graph.graph import DEGREE, RoadGraph
from routing.travel.osm.roads import KINDS

if TYPE_CHECKING:
    import networkx as nx

CRS = "EPSG:4326"
"""WGS84 in degrees, longitude as ``x`` and latitude as ``y``."""

DECIMALS = 7
"""Of degrees: as many as are stored."""

LIMITS = ("max_kg", "max_rating_kg", "max_height_cm", "max_length_cm", "max_width_cm", "max_axle_kg")


def networkx_graph(graph: RoadGraph, settings: RoadSettings) -> nx.MultiDiGraph[int]:
    """The roads as a MultiDiGraph: an arc for each direction that may be driven (a loop is one arc).

    Parameters
    ----------
    graph
        Roads as read.
    settings
        Speeds and delays, from which ``drive_s`` is worked out.

    Returns
    -------
    networkx.MultiDiGraph
        Graph: ``crs``, ``source``, ``attribution``. Nodes: ``x``, ``y`` (degrees), ``closed`` (a barrier),
        ``delay_s``. Arcs, keyed by the number of the stretch: ``length_m``, ``drive_s`` (without the delays
        of nodes and turns), ``kind``, ``ends_only``, ``dry_only``, ``connected`` (reached from, and left
        for, the largest network), ``geometry`` ((lon, lat) from tail to head), and the limits that are
        posted: ``max_kg``, ``max_rating_kg``, ``max_axle_kg``, ``max_height_m``, ``max_length_m``,
        ``max_width_m``.

    Notes
    -----
    About 1.5 kB an arc. The planner itself searches arrays with scipy: on 305,000 nodes it finds the largest
    network in 0.5 s and 10 MB, where networkx takes 28 s and 340 MB.
    """
    import networkx as nx

    cost = costs(graph, settings)
    joined = reachable(graph, passable(graph, Vehicle(), wet=False), wet=False)
    made: nx.MultiDiGraph[int] = nx.MultiDiGraph(
        crs=CRS, source=graph.meta.get("source", ""), attribution=graph.meta.get("attribution", "")
    )
    lon, lat = _positions(graph)
    made.add_nodes_from(
        (node, {"x": x, "y": y, "closed": closed, "delay_s": delay / CS})
        for node, (x, y, closed, delay) in enumerate(
            zip(
                lon.tolist(),
                lat.tolist(),
                graph.node_closed.tolist(),
                cost.node_delay_cs.tolist(),
                strict=True,
            )
        )
    )
    facts = {name: graph.fact(name) for name in ("open", "ends_only", "dry_only", *LIMITS)}
    for edge in range(graph.edges):
        what = _facts(edge, facts) | {
            "length_m": float(graph.length_m[edge]),
            "drive_s": float(cost.time_cs[edge]) / CS,
            "kind": KINDS[cost.kind[edge]],
            "connected": bool(joined[edge]),
        }
        line = _line(graph, edge)
        tail, head, open_ = int(graph.tail[edge]), int(graph.head[edge]), int(facts["open"][edge])
        if open_ & 1:
            made.add_edge(tail, head, key=edge, **what, geometry=line)
        if open_ & 2:
            made.add_edge(head, tail, key=edge, **what, geometry=line[::-1])
    return made


def _positions(graph: RoadGraph) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Longitude and latitude of every node, degrees."""
    at = np.zeros(graph.nodes, dtype=np.int64)
    at[graph.tail], at[graph.head] = graph.first, graph.last
    return _degrees(graph.x[at]), _degrees(graph.y[at])


def _facts(edge: int, facts: dict[str, Any]) -> dict[str, Any]:
    """Access and the limits posted on a stretch; lengths in metres."""
    found: dict[str, Any] = {name: bool(facts[name][edge]) for name in ("ends_only", "dry_only")}
    for name in LIMITS:
        if limit := int(facts[name][edge]):
            found[name.replace("_cm", "_m")] = limit / 100 if name.endswith("_cm") else limit
    return found


def _line(graph: RoadGraph, edge: int) -> list[tuple[float, float]]:
    x, y = graph.line(edge)
    return list(zip(_degrees(x).tolist(), _degrees(y).tolist(), strict=True))


def _degrees(steps: NDArray[np.int32]) -> NDArray[np.float64]:
    return np.round(steps * DEGREE, DECIMALS)
