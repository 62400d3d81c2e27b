"""The shrunk network drives exactly like the whole one."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import numpy as np
import pytest

from routing.travel.roads.core import Core, shrink, unfold
from routing.travel.roads.table import search


def _network(seed: int) -> tuple[int, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A random network with chains, dead ends, one-way links, doubled links and a few wanted nodes."""
    rng = np.random.default_rng(seed)
    nodes = int(rng.integers(6, 60))
    links = int(nodes * rng.uniform(1.0, 3.0))
    tail, head = rng.integers(0, nodes, links), rng.integers(0, nodes, links)
    chain = np.arange(nodes - 1)
    tail, head = np.concatenate([tail, chain]), np.concatenate([head, chain + 1])
    keep = tail != head
    wanted = np.zeros(nodes, dtype=bool)
    wanted[rng.choice(nodes, size=min(nodes, 5), replace=False)] = True
    return nodes, tail[keep], head[keep], rng.integers(1, 50, keep.sum()), wanted


def _whole(tail: np.ndarray, head: np.ndarray, cost: np.ndarray) -> nx.DiGraph:
    graph = nx.DiGraph()
    for a, b, c in zip(tail.tolist(), head.tolist(), cost.tolist(), strict=True):
        graph.add_edge(a, b, cost=min(c, graph.get_edge_data(a, b, {"cost": c})["cost"]))
    return graph


def _shrunk_graph(core: Core) -> nx.DiGraph:
    return _whole(core.name[core.tail], core.name[core.head], core.cost)


@pytest.mark.parametrize("seed", range(120))
def test_cheapest_ways_between_wanted_nodes_cost_the_same(seed: int) -> None:
    nodes, tail, head, cost, wanted = _network(seed)
    core = shrink(nodes, tail, head, cost, wanted)
    before, after = _whole(tail, head, cost), _shrunk_graph(core)
    assert core.nodes <= nodes
    for a in np.flatnonzero(wanted).tolist():
        known = nx.single_source_dijkstra_path_length(before, a, weight="cost") if a in before else {a: 0}
        found = nx.single_source_dijkstra_path_length(after, a, weight="cost") if a in after else {a: 0}
        ends = set(np.flatnonzero(wanted).tolist())
        assert {b: c for b, c in known.items() if b in ends} == {b: c for b, c in found.items() if b in ends}


@pytest.mark.parametrize("seed", range(40))
def test_every_shortcut_unfolds_into_links_end_to_end_of_the_same_cost(seed: int) -> None:
    nodes, tail, head, cost, wanted = _network(seed)
    core = shrink(nodes, tail, head, cost, wanted)
    for k, link in enumerate(core.link.tolist()):
        parts = unfold(core, link)
        assert tail[parts[0]] == core.name[core.tail[k]]
        assert head[parts[-1]] == core.name[core.head[k]]
        assert all(head[a] == tail[b] for a, b in pairwise(parts))
        assert sum(int(cost[part]) for part in parts) == core.cost[k]


@pytest.mark.parametrize("seed", range(40))
def test_way_read_off_a_tree_costs_what_the_table_says(seed: int) -> None:
    nodes, tail, head, cost, wanted = _network(seed)
    core = shrink(nodes, tail, head, cost, wanted)
    ends = np.searchsorted(core.name, np.flatnonzero(wanted))
    time_cs, length_dm, trees = search(core, ends, ends)
    for i in range(len(ends)):
        for j in range(len(ends)):
            links = trees.links(i, j)
            if i == j or not np.isfinite(time_cs[i, j]):
                assert links == []
                continue
            # Costs here are below one unit of time, so all of them is read back as length.
            assert sum(int(core.cost[link]) for link in links) == length_dm[i, j]
            assert core.tail[links[0]] == ends[i]
            assert core.head[links[-1]] == ends[j]


def test_a_long_road_without_side_roads_becomes_one_link() -> None:
    n = 500
    tail = np.concatenate([np.arange(n - 1), np.arange(1, n)])
    head = np.concatenate([np.arange(1, n), np.arange(n - 1)])
    wanted = np.zeros(n, dtype=bool)
    wanted[[0, n - 1]] = True
    core = shrink(n, tail, head, np.ones(len(tail), dtype=np.int64), wanted)
    assert (core.nodes, len(core.link), core.cost.tolist()) == (2, 2, [n - 1, n - 1])
