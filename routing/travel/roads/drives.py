"""Make the table of drives between snapped places for one set of passable roads, or recall it from disk."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.arcs import Mask, blocked_nodes, costs
from routing.travel.graph.cache import key_of, recall, remember
from routing.travel.graph.graph import Floats, RoadGraph
from routing.travel.roads.core import shrink
from routing.travel.roads.ends import Network, join_places
from routing.travel.roads.lines import Drawing, Pieces, cut_pieces
from routing.travel.roads.snap import Snapped
from routing.travel.roads.table import Trees, search
from routing.travel.roads.turns import link_turns


@dataclass(frozen=True)
class Drives:
    """Hundredths of a second and decimetres between all pairs (infinite: no way), and their lines."""

    time_cs: Floats
    length_dm: Floats
    drawing: Drawing


def drives(graph: RoadGraph, usable: Mask, snapped: Snapped, settings: RoadSettings) -> Drives:
    """Fastest drives between all places over usable edges."""
    digest = graph.meta.get("digest")
    if digest is None:
        return _make(graph, usable, snapped, settings)
    key = key_of(
        (str(digest), repr(settings), np.packbits(usable).tobytes(), snapped.edge.tobytes(),
         snapped.share.tobytes())
    )  # fmt: skip
    kept = recall(key)
    if kept is not None:
        return _unpacked(kept)
    made = _make(graph, usable, snapped, settings)
    remember(key, _packed(made))
    return made


def network_of(graph: RoadGraph, usable: Mask, snapped: Snapped, settings: RoadSettings) -> Network:
    """Every turn between usable edges, with an origin and a target for each place."""
    times = costs(graph, settings)
    blocked = blocked_nodes(graph, wet=settings.ground == "wet")
    return join_places(graph, times, link_turns(graph, times, usable, blocked, settings), snapped)


def _make(graph: RoadGraph, usable: Mask, snapped: Snapped, settings: RoadSettings) -> Drives:
    network = network_of(graph, usable, snapped, settings)
    wanted = np.zeros(network.nodes, dtype=bool)
    wanted[network.origin] = wanted[network.target] = True
    core = shrink(network.nodes, network.tail, network.head, network.cost, wanted)
    origins = np.searchsorted(core.name, network.origin)
    targets = np.searchsorted(core.name, network.target)
    time_cs, length_dm, trees = search(core, origins, targets)
    return Drives(time_cs, length_dm, Drawing(*cut_pieces(graph, network, core, trees)))


def _packed(made: Drives) -> dict[str, Any]:
    trees, pieces = made.drawing.trees, made.drawing.pieces
    return {
        "time_cs": made.time_cs, "length_dm": made.length_dm, "tree_start": trees.start,
        "parent": trees.parent, "link": trees.link, "leaf": trees.leaf, "piece_start": pieces.start,
        "x": pieces.x, "y": pieces.y,
    }  # fmt: skip


def _unpacked(kept: dict[str, Any]) -> Drives:
    trees = Trees(kept["tree_start"], kept["parent"], kept["link"], kept["leaf"])
    pieces = Pieces(kept["piece_start"], kept["x"], kept["y"])
    return Drives(kept["time_cs"], kept["length_dm"], Drawing(trees, pieces))
