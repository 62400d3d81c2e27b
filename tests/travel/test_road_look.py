"""The road graph handed on to networkx holds the same roads, limits and islands."""

from __future__ import annotations

from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.arcs import CS, Vehicle, costs, passable, reachable
from routing.travel.graph.file import graph_from_extract
from routing.travel.graph.graph import DEGREE, RoadGraph
from routing.travel.graph.look import networkx_graph
from tests.support.road_maps import real_extract

DEMO = Path(__file__).parents[2] / "data_demo" / "sorrel_county" / "roads.osm.bz2"
SETTINGS = RoadSettings()


@pytest.fixture(scope="module", params=["demo", "north-bayreuth.osm.pbf"])
def graph(request: pytest.FixtureRequest) -> RoadGraph:
    return graph_from_extract(DEMO if request.param == "demo" else real_extract(request.param))


@pytest.fixture(scope="module")
def look(graph: RoadGraph) -> nx.MultiDiGraph[int]:
    return networkx_graph(graph, SETTINGS)


def test_every_direction_that_may_be_driven_is_an_arc(graph: RoadGraph, look: nx.MultiDiGraph[int]) -> None:
    open_ = graph.fact("open")
    assert look.number_of_nodes() == graph.nodes
    # A stretch that ends where it begins is one arc, whichever way it is driven.
    loops = int(((graph.tail == graph.head) & (open_ == 3)).sum())
    assert look.number_of_edges() == int((open_ & 1 > 0).sum() + (open_ & 2 > 0).sum()) - loops
    one_way = int(np.flatnonzero(open_ == 1)[0]) if (open_ == 1).any() else None
    if one_way is not None:
        tail, head = int(graph.tail[one_way]), int(graph.head[one_way])
        assert look.has_edge(tail, head, key=one_way)
        assert tail == head or not look.has_edge(head, tail, key=one_way)


def test_arcs_run_between_the_positions_of_their_nodes(look: nx.MultiDiGraph[int]) -> None:
    for tail, head, line in look.edges(data="geometry"):
        for node, (lon, lat) in ((tail, line[0]), (head, line[-1])):
            assert (look.nodes[node]["x"], look.nodes[node]["y"]) == (lon, lat)
    assert look.graph["crs"] == "EPSG:4326"


def test_lengths_times_and_limits_are_those_of_the_graph(
    graph: RoadGraph, look: nx.MultiDiGraph[int]
) -> None:
    cost = costs(graph, SETTINGS)
    for _, _, edge, what in look.edges(keys=True, data=True):
        assert what["length_m"] == graph.length_m[edge]
        assert what["drive_s"] == cost.time_cs[edge] / CS
        assert what.get("max_kg", 0) == graph.fact("max_kg")[edge]
        assert what.get("max_height_m", 0) == graph.fact("max_height_cm")[edge] / 100


def test_the_largest_island_by_networkx_is_the_network_that_trucks_are_kept_to(
    graph: RoadGraph, look: nx.MultiDiGraph[int]
) -> None:
    """Strongly connected components by networkx (Tarjan 1972, Nuutila 1994) against those by scipy."""
    public = nx.MultiDiGraph(
        (tail, head, key)
        for tail, head, key, ends_only in look.edges(keys=True, data="ends_only")
        if not (ends_only or look.nodes[tail]["closed"] or look.nodes[head]["closed"])
    )
    largest = max(nx.strongly_connected_components(public), key=len)
    usable = reachable(graph, passable(graph, Vehicle(), wet=False), wet=False)
    for tail, head, key in public.edges(keys=True):
        assert (tail in largest and head in largest) == bool(usable[key]), key
    assert sum(usable) > 0.5 * graph.edges


def test_positions_lie_where_the_extract_puts_them(graph: RoadGraph, look: nx.MultiDiGraph[int]) -> None:
    lon, lat = graph.x * DEGREE, graph.y * DEGREE
    xs = [x for _, x in look.nodes(data="x")]
    ys = [y for _, y in look.nodes(data="y")]
    assert lon.min() - 1e-7 <= min(xs) <= max(xs) <= lon.max() + 1e-7
    assert lat.min() - 1e-7 <= min(ys) <= max(ys) <= lat.max() + 1e-7
