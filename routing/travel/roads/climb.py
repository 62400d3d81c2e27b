"""Work out how much every drive climbs, from an elevation grid along its road."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.travel.graph.graph import DEGREE, Floats, Ints, steps_m
from routing.travel.roads.elevation import Grid
from routing.travel.roads.lines import Drawing
from routing.travel.roads.table import Trees

MOST_PARTS = 1000
"""Of one straight piece of road: heights are read at least as often as the grid has cells, up to this."""


@dataclass(frozen=True)
class Climbs:
    """Whole metres that descents do not give back, between all pairs; the share of road without heights."""

    climb_m: Ints
    unknown: float


def climbs(drawing: Drawing, grid: Grid, coast_slope: float) -> Climbs:
    """The climb of every drive of a table.

    Rises count in full. A descent gives back what it saves: all of its height where it is gentle, and no more
    than ``coast_slope`` times its length where the truck would roll faster than it may (the rest goes into
    the brakes). A drive never climbs less than nothing. Where the grid has no height the road is level.
    """
    piece_m, unknown = _pieces(drawing, grid, coast_slope)
    along = _along_trees(drawing.trees, piece_m)
    trees = drawing.trees
    row = trees.start[:-1, None] + trees.leaf
    found = np.where(trees.leaf >= 0, along[np.where(trees.leaf >= 0, row, 0)] if len(along) else 0.0, 0.0)
    return Climbs(np.ceil(np.round(np.maximum(found, 0.0), 3)).astype(np.int64), unknown)


def _pieces(drawing: Drawing, grid: Grid, coast_slope: float) -> tuple[Floats, float]:
    """Metres of climb of every piece of road, and the share of all their length without heights."""
    pieces = drawing.pieces
    count = len(pieces.start) - 1
    if len(pieces.x) < 2:
        return np.zeros(count), 0.0
    owner = np.repeat(np.arange(count), np.diff(pieces.start))
    first = np.flatnonzero(owner[:-1] == owner[1:])
    length_m = steps_m(pieces.x, pieces.y)[first]
    lon, lat = pieces.x * DEGREE, pieces.y * DEGREE
    wide = np.maximum(np.abs(lon[first + 1] - lon[first]), np.abs(lat[first + 1] - lat[first]))
    parts = np.clip(np.ceil(wide / grid.step), 1, MOST_PARTS).astype(np.int64)
    step = np.repeat(np.arange(len(first)), parts)
    nth = np.arange(len(step)) - np.repeat(np.cumsum(parts) - parts, parts)
    share = parts[step].astype(np.float64)
    ends = []
    for at in (nth / share, (nth + 1) / share):
        a = first[step]
        ends.append(grid.at(lat[a] + at * (lat[a + 1] - lat[a]), lon[a] + at * (lon[a + 1] - lon[a])))
    run_m = length_m[step] / share
    rise_m = ends[1] - ends[0]
    known = np.isfinite(rise_m)
    climb_m = np.where(known, np.maximum(rise_m, -coast_slope * run_m), 0.0)
    total = float(run_m.sum())
    unknown = float(run_m[~known].sum()) / total if total else 0.0
    by_piece: Floats = np.bincount(owner[first[step]], weights=climb_m, minlength=count).astype(np.float64)
    return by_piece, unknown


def _along_trees(trees: Trees, piece_m: Floats) -> Floats:
    """The sum from the origin to every row of every tree, by adding parents' sums twice as far each time."""
    base = np.repeat(trees.start[:-1], np.diff(trees.start))
    parent: NDArray[np.int64] = np.where(trees.parent >= 0, trees.parent + base, -1)
    link = trees.link
    found = np.where(link >= 0, piece_m[np.maximum(link, 0)] if len(piece_m) else 0.0, 0.0)
    while (going := np.flatnonzero(parent >= 0)).size:
        found[going], parent[going] = found[going] + found[parent[going]], parent[parent[going]]
    return found
