"""Time the road tables on an extract, and on many copies of it joined into one large network.

python -m benchmarks.roads county.osm.pbf [--copies 36] [--places 300]
"""

from __future__ import annotations

import argparse
import resource
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.arcs import Vehicle, passable, reachable
from routing.travel.graph.file import graph_from_extract, load_graph, save_graph
from routing.travel.graph.graph import RoadGraph
from routing.travel.roads.drives import drives
from routing.travel.roads.snap import Snapper

TRUCK = Vehicle(gross_kg=8845, rating_kg=8845, height_m=3.6, length_m=8.5)


@contextmanager
def timed(what: str) -> Iterator[None]:
    begin = time.perf_counter()
    yield
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"{what:45s} {time.perf_counter() - begin:7.2f} s   peak memory {peak_mb:6.0f} MB")


def joined(graph: RoadGraph, copies: int) -> RoadGraph:
    """Copies side by side in a square, each linked to its neighbours by three roads."""
    usable = reachable(graph, passable(graph, TRUCK, wet=False), wet=False)
    side = round(copies**0.5)
    wide, high = int(np.ptp(graph.x)) + 50_000, int(np.ptp(graph.y)) + 50_000
    points, nodes = len(graph.x), graph.nodes
    column, row = np.divmod(np.arange(side * side), side)

    def repeat(values: np.ndarray, step: int) -> np.ndarray:
        return (values[None, :] + step * np.arange(side * side)[:, None]).ravel()

    x = (graph.x[None, :] + (column * wide)[:, None]).ravel()
    y = (graph.y[None, :] + (row * high)[:, None]).ravel()
    two_way = np.flatnonzero(usable & (graph.fact("open") == 3) & (graph.fact("ends_only") == 0))
    links = _links(graph, two_way, side)
    ends = [[a_point, b_point] for _, a_point, _, b_point in links]
    last_points = np.array(ends, dtype=np.int64).reshape(-1, 2)
    link_x, link_y = x[last_points].ravel(), y[last_points].ravel()
    first = len(x) + 2 * np.arange(len(links))
    plain = int(graph.facts[two_way[0]])
    return replace(
        graph,
        x=np.concatenate([x, link_x]).astype(np.int32),
        y=np.concatenate([y, link_y]).astype(np.int32),
        first=np.concatenate([repeat(graph.first, points), first]),
        last=np.concatenate([repeat(graph.last, points), first + 1]),
        tail=np.concatenate([repeat(graph.tail, nodes), [a for a, _, _, _ in links]]),
        head=np.concatenate([repeat(graph.head, nodes), [b for _, _, b, _ in links]]),
        facts=np.concatenate([np.tile(graph.facts, side * side), np.full(len(links), plain)]),
        length_m=np.concatenate([np.tile(graph.length_m, side * side), np.full(len(links), 3000.0)]),
        node_delay=np.tile(graph.node_delay, side * side),
        node_closed=np.tile(graph.node_closed, side * side),
        node_dry_only=np.tile(graph.node_dry_only, side * side),
        no_turn=np.zeros((0, 3), dtype=np.int64),
        no_way=np.zeros(0, dtype=np.int64),
        no_way_start=np.zeros(1, dtype=np.int64),
        meta={key: value for key, value in graph.meta.items() if key != "digest"},
    )


def _links(graph: RoadGraph, edges: np.ndarray, side: int) -> list[tuple[int, int, int, int]]:
    """(node, point, node, point) of roads between neighbours: outermost nodes of usable two-way roads."""
    points, nodes = len(graph.x), graph.nodes
    tails, at = graph.tail[edges], graph.first[edges]
    ends = {
        name: np.argsort(values)[:3]
        for name, values in (
            ("west", graph.x[at]), ("east", -graph.x[at].astype(int)),
            ("south", graph.y[at]), ("north", -graph.y[at].astype(int)),
        )
    }  # fmt: skip
    found = []
    for k in range(side * side):
        for out, into, step in (("east", "west", side), ("north", "south", 1)):
            other = k + step
            if other >= side * side or (step == 1 and other % side == 0):
                continue
            for i, j in zip(ends[out], ends[into], strict=True):
                found.append((
                    int(tails[i]) + k * nodes, int(at[i]) + k * points,
                    int(tails[j]) + other * nodes, int(at[j]) + other * points,
                ))  # fmt: skip
    return found


def run(graph: RoadGraph, places: int, folder: Path) -> None:
    print(f"{graph.nodes:,} nodes, {graph.edges:,} stretches, {len(graph.x):,} points")
    path = folder / "benchmark.roads"
    with timed("write the graph"):
        save_graph(graph, path)
    with timed(f"load it ({path.stat().st_size / 1e6:.1f} MB)"):
        graph = load_graph(path)
    graph = replace(graph, meta={})
    path.unlink()
    begin = time.perf_counter()
    with timed("what a truck can reach"):
        usable = reachable(graph, passable(graph, TRUCK, wet=False), wet=False)
    dice = np.random.default_rng(1)
    at = dice.integers(0, len(graph.x), places)
    lat = graph.y[at] * 1e-7 + dice.normal(0, 0.001, places)
    lon = graph.x[at] * 1e-7 + dice.normal(0, 0.001, places)
    with timed(f"bring {places} places to the road"):
        snapped = Snapper(graph, usable).snap(lat, lon)
    with timed(f"{places} x {places} times, distances and ways"):
        made = drives(graph, usable, snapped, RoadSettings())
    print(f"{'all of it':45s} {time.perf_counter() - begin:7.2f} s")
    chosen = [(i, j) for i in range(places) for j in range(places) if np.isfinite(made.time_cs[i, j])]
    with timed(f"put {len(chosen):,} lines together"):
        count = sum(len(made.drawing.line(i, j)) for i, j in chosen)
    print(f"{count:,} points of lines; {np.isinf(made.time_cs).sum()} pairs without a way")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("extract", type=Path)
    parser.add_argument("--copies", type=int, default=36)
    parser.add_argument("--places", type=int, default=300)
    options = parser.parse_args()
    with timed("read the extract"):
        graph = graph_from_extract(options.extract)
    folder = Path(".")
    run(graph, options.places, folder)
    if options.copies > 1:
        print(f"\n{options.copies} copies joined")
        run(joined(graph, options.copies), options.places, folder)


if __name__ == "__main__":
    main()
