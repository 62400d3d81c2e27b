"""Drives on roads against networkx: Dijkstra's algorithm on the whole network, pair by pair.

Source: Dijkstra, E. W. (1959), A note on two problems in connexion with graphs, Numerische Mathematik
1:269-271, as implemented in networkx (single_source_dijkstra). What is held against it: the shrunk network,
the search with two numbers in one cost, and the ways read off its trees, with turns, private roads and
one-way streets in.
"""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.arcs import TIME_UNIT, Vehicle, passable, reachable
from routing.travel.graph.file import graph_from_extract
from routing.travel.graph.graph import RoadGraph, steps_m
from routing.travel.roads.drives import drives, network_of
from routing.travel.roads.ends import Network
from routing.travel.roads.snap import Snapped, Snapper
from tests.support.made_county import write_county
from tests.support.road_maps import real_extract

SETTINGS = RoadSettings()
PLACES = 60
"""3,540 pairs an extract."""


@pytest.fixture(
    scope="module", params=["made", "rutland.osm.pbf", "north-bayreuth.osm.pbf", "andorra.osm.pbf"]
)
def graph(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> RoadGraph:
    if request.param == "made":
        return graph_from_extract(write_county(tmp_path_factory.mktemp("roads") / "county.osm"))
    return graph_from_extract(real_extract(request.param))


def _snapped(graph: RoadGraph, usable: np.ndarray) -> Snapped:
    """Places near random points of roads."""
    dice = np.random.default_rng(7)
    edges = dice.choice(np.flatnonzero(usable), PLACES)
    at = graph.first[edges]
    lat = graph.y[at] * 1e-7 + dice.normal(0, 0.0005, PLACES)
    lon = graph.x[at] * 1e-7 + dice.normal(0, 0.0005, PLACES)
    return Snapper(graph, usable).snap(lat, lon)


def _whole(network: Network) -> nx.DiGraph:
    found = nx.DiGraph()
    found.add_nodes_from(range(network.nodes))
    rows = zip(network.tail.tolist(), network.head.tolist(), network.cost.tolist(), strict=True)
    for tail, head, cost in rows:
        known = found.get_edge_data(tail, head)
        if known is None or cost < known["cost"]:
            found.add_edge(tail, head, cost=cost)
    return found


def test_times_and_distances_are_those_of_dijkstra_on_the_whole_network(graph: RoadGraph) -> None:
    truck = Vehicle(gross_kg=8845, rating_kg=8845, height_m=3.5, length_m=8.5)
    usable = reachable(graph, passable(graph, truck, wet=False), wet=False)
    snapped = _snapped(graph, usable)
    network = network_of(graph, usable, snapped, SETTINGS)
    made = drives(graph, usable, snapped, SETTINGS)
    whole = _whole(network)
    compared = 0
    for i, origin in enumerate(network.origin.tolist()):
        known = nx.single_source_dijkstra_path_length(whole, origin, weight="cost")
        for j, target in enumerate(network.target.tolist()):
            if i == j:
                continue
            if target not in known:
                assert np.isinf(made.time_cs[i, j])
                continue
            assert made.time_cs[i, j] * TIME_UNIT + made.length_dm[i, j] == known[target]
            compared += 1
    assert compared > 3000


def test_lines_are_as_long_as_the_drives(graph: RoadGraph) -> None:
    usable = reachable(graph, passable(graph, Vehicle(), wet=False), wet=False)
    snapped = _snapped(graph, usable)
    made = drives(graph, usable, snapped, SETTINGS)
    longest_gap_m = 0.0
    for i in range(0, PLACES, 3):
        for j in range(PLACES):
            if i == j or np.isinf(made.time_cs[i, j]):
                continue
            line = np.array(made.drawing.line(i, j)) * 1e7
            gap_m = abs(steps_m(line[:, 0], line[:, 1]).sum() - made.length_dm[i, j] / 10)
            longest_gap_m = max(longest_gap_m, gap_m)
    # Each stretch is rounded to a decimetre.
    assert longest_gap_m < 15
