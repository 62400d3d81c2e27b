"""Draw drives: keep the pieces of road that any drive uses, and put a line together when it is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from routing.travel.graph.graph import DEGREE, Ints, RoadGraph, steps_m
from routing.travel.roads.core import Core, unfold
from routing.travel.roads.ends import PER_SHARE, Network
from routing.travel.roads.table import Trees

LonLat = tuple[float, float]
DECIMALS = 7


@dataclass(frozen=True)
class Pieces:
    """Lines of the links of a core that drives use: piece k is ``x[start[k]:start[k + 1]]`` and ``y``."""

    start: Ints
    x: NDArray[np.int32]
    y: NDArray[np.int32]


def cut_pieces(graph: RoadGraph, network: Network, core: Core, trees: Trees) -> tuple[Trees, Pieces]:
    """The pieces that the trees use, and the trees with links numbered by piece."""
    used = np.unique(trees.link[trees.link >= 0])
    number = np.full(int(used.max(initial=-1)) + 2, -1, dtype=np.int32)
    number[used] = np.arange(len(used), dtype=np.int32)
    lines = [_piece(graph, network, unfold(core, int(core.link[link]))) for link in used.tolist()]
    start = np.concatenate([[0], np.cumsum([len(x) for x, _ in lines])]).astype(np.int64)
    none = np.zeros(0, dtype=np.int32)
    pieces = Pieces(
        start, np.concatenate([none, *(x for x, _ in lines)]), np.concatenate([none, *(y for _, y in lines)])
    )
    return Trees(trees.start, trees.parent, number[trees.link], trees.leaf), pieces


def _piece(
    graph: RoadGraph, network: Network, links: Sequence[int]
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    parts = [arc_line(graph, int(network.arc[k]), int(network.begin[k]), int(network.end[k])) for k in links]
    x, y = np.concatenate([x for x, _ in parts]), np.concatenate([y for _, y in parts])
    # Arcs that follow each other share a point.
    new = np.concatenate([[True], (np.diff(x) != 0) | (np.diff(y) != 0)])
    return x[new], y[new]


def arc_line(
    graph: RoadGraph, arc: int, begin: int = 0, end: int = PER_SHARE
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Longitudes and latitudes (1e-7 degrees) of an arc from one share of its length to another."""
    x, y = graph.line(arc >> 1)
    if arc & 1:
        x, y = x[::-1], y[::-1]
    if begin == 0 and end == PER_SHARE:
        return x, y
    along = np.concatenate([[0.0], np.cumsum(steps_m(x, y))])
    low, high = along[-1] * begin / PER_SHARE, along[-1] * end / PER_SHARE
    inner = (along > low) & (along < high)
    at = np.concatenate([[low], along[inner], [high]])
    return (
        np.rint(np.interp(at, along, x)).astype(np.int32),
        np.rint(np.interp(at, along, y)).astype(np.int32),
    )


@dataclass(frozen=True)
class Drawing:
    """The ways of one table of drives, and their pieces."""

    trees: Trees
    pieces: Pieces
    ready: dict[int, tuple[LonLat, list[LonLat]]] = field(default_factory=dict, repr=False, compare=False)

    def line(self, i: int, j: int) -> list[LonLat]:
        """Points (lon, lat) in degrees from place i to place j along the road."""
        points: list[LonLat] = []
        ready = self.ready
        for piece in self.trees.links(i, j):
            first, others = ready.get(piece) or self._piece(piece)
            # Each piece begins where the one before it ends.
            if not points:
                points.append(first)
            points += others
        return points

    def _piece(self, piece: int) -> tuple[LonLat, list[LonLat]]:
        """The first point of a piece, and those after it."""
        part = slice(self.pieces.start[piece], self.pieces.start[piece + 1])
        lon, lat = (np.round(values[part] * DEGREE, DECIMALS) for values in (self.pieces.x, self.pieces.y))
        first, *others = zip(lon.tolist(), lat.tolist(), strict=True)
        self.ready[piece] = first, others
        return first, others


@dataclass(frozen=True)
class RoadLines(Mapping[tuple[str, str], tuple[LonLat, ...]]):
    """Lines by pair of places, made when asked for: 90,000 of them would fill the memory for nothing.

    ``pick[i, j]`` says which drawing has the way from i to j. Each line begins and ends at the places.
    """

    places: tuple[str, ...]
    positions: tuple[LonLat, ...]
    drawings: tuple[Drawing, ...]
    pick: NDArray[np.int8]
    index: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "index", {key: i for i, key in enumerate(self.places)})

    def __getitem__(self, pair: tuple[str, str]) -> tuple[LonLat, ...]:
        i, j = self.index[pair[0]], self.index[pair[1]]
        drawing = self.drawings[int(self.pick[i, j])]
        if i == j or drawing.trees.leaf[i, j] < 0:
            raise KeyError(pair)
        return (self.positions[i], *drawing.line(i, j), self.positions[j])

    def __iter__(self) -> Iterator[tuple[str, str]]:
        for i, a in enumerate(self.places):
            for j, b in enumerate(self.places):
                if i != j and self.drawings[int(self.pick[i, j])].trees.leaf[i, j] >= 0:
                    yield a, b

    def __len__(self) -> int:
        return sum(1 for _ in self)
