"""Read an elevation grid (ESRI ASCII) and tell how high the ground is between its cells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.domain.errors import FeedroundError
from routing.travel.graph.cache import key_of, recall, remember
from routing.travel.graph.graph import Floats
from routing.travel.graph.sealed_file import file_digest

MOST_CELLS = 60_000_000
"""Four one-degree squares of one-second cells: 240 MB of heights."""

MOST_BYTES = 1_500_000_000

_HEADER = ("ncols", "nrows", "xllcorner", "xllcenter", "yllcorner", "yllcenter", "cellsize", "nodata_value")
_LOWEST_M, _HIGHEST_M = -500.0, 9000.0


@dataclass(frozen=True)
class Grid:
    """Heights in metres, row 0 the northernmost; NaN where nobody knows.

    ``west`` and ``north`` are degrees of the middle of the first cell, ``step`` degrees from cell to cell.
    """

    west: float
    north: float
    step: float
    height_m: NDArray[np.float32]

    def at(self, lat: Floats, lon: Floats) -> Floats:
        """Heights in metres by bilinear interpolation between the middles of cells; NaN outside the grid."""
        rows, columns = self.height_m.shape
        y, x = (self.north - lat) / self.step, (lon - self.west) / self.step
        inside = (y >= -0.5) & (y <= rows - 0.5) & (x >= -0.5) & (x <= columns - 0.5)
        y, x = np.clip(y, 0.0, rows - 1.0), np.clip(x, 0.0, columns - 1.0)
        row = np.minimum(y.astype(np.int64), rows - 2)
        column = np.minimum(x.astype(np.int64), columns - 2)
        down, right = y - row, x - column
        corner = self.height_m
        found: Floats = (
            corner[row, column] * (1 - down) * (1 - right)
            + corner[row, column + 1] * (1 - down) * right
            + corner[row + 1, column] * down * (1 - right)
            + corner[row + 1, column + 1] * down * right
        )
        return np.where(inside, found, np.nan)


def read_grid(path: Path) -> Grid:
    """The grid of a file in degrees (WGS 84), or of the copy of it kept in the cache.

    Format: ESRI ASCII raster, lines of name and value, then heights in metres from north to south. Raises
    FeedroundError when it is not a whole grid of that kind.
    """
    try:
        digest = file_digest(path)
        size = path.stat().st_size
    except OSError as error:
        raise FeedroundError(
            f"{path}: the elevation grid cannot be read ({error.strerror}): name an ESRI ASCII grid (.asc) "
            "in elevation, or take elevation out"
        ) from error
    if size > MOST_BYTES:
        raise _fault(path, f"{size / 1e9:.1f} GB is more than a county: cut out the area of the yards")
    key = key_of(("elevation", digest))
    kept = recall(key)
    if kept is not None:
        west, north, step = kept["place"].tolist()
        return Grid(west, north, step, kept["height_m"])
    grid = _parsed(path)
    remember(key, {"place": np.array([grid.west, grid.north, grid.step]), "height_m": grid.height_m})
    return grid


def _fault(path: Path, what: str) -> FeedroundError:
    return FeedroundError(f"{path}: this is not an elevation grid that can be used: {what}")


def _parsed(path: Path) -> Grid:
    try:
        with path.open(encoding="ascii", errors="strict") as lines:
            head, first = _head(path, lines)
            rows, columns = _size(path, head)
            height_m = _heights(path, first, lines, rows * columns, head.get("nodata_value", -9999.0))
    except UnicodeDecodeError as error:
        raise _fault(path, "it is not text (expected an ESRI ASCII grid, .asc)") from error
    step = head["cellsize"]
    half = {"xllcorner": step / 2, "yllcorner": step / 2}
    west, south = (
        next(head[name] + half.get(name, 0.0) for name in names if name in head)
        for names in (("xllcorner", "xllcenter"), ("yllcorner", "yllcenter"))
    )
    north = south + (rows - 1) * step
    if not (west >= -180 and west + (columns - 1) * step <= 180 and south >= -90 and north <= 90):
        raise _fault(path, "its place is not in degrees: convert it to longitude and latitude (WGS 84)")
    return Grid(west, north, step, height_m.reshape(rows, columns))


def _head(path: Path, lines: Iterator[str]) -> tuple[dict[str, float], str]:
    """The named values on top, and the first line after them."""
    head: dict[str, float] = {}
    for line in lines:
        name, *values = line.split() or [""]
        if name.lower() not in _HEADER:
            break
        try:
            (text,) = values
            head[name.lower()] = float(text)
        except ValueError as error:
            raise _fault(path, f"its {name} is not one number") from error
    else:
        line = ""
    wanted = {"ncols", "nrows", "cellsize"} - set(head)
    placed = {"xllcorner", "xllcenter"} & set(head) and {"yllcorner", "yllcenter"} & set(head)
    if wanted or not placed:
        missing = ", ".join(sorted(wanted)) or "xllcorner, yllcorner"
        raise _fault(path, f"it has no {missing} at the top (expected an ESRI ASCII grid, .asc)")
    return head, line


def _size(path: Path, head: dict[str, float]) -> tuple[int, int]:
    rows, columns, step = head["nrows"], head["ncols"], head["cellsize"]
    if not (rows >= 2 and columns >= 2 and rows % 1 == 0 and columns % 1 == 0):
        raise _fault(path, "nrows and ncols are whole numbers of 2 or more")
    if rows * columns > MOST_CELLS:
        raise _fault(path, f"{rows * columns:,.0f} cells are more than {MOST_CELLS:,}: cut or thin it out")
    if not 1e-6 <= step <= 1:
        raise _fault(path, f"a cellsize of {step:g} is not in degrees: convert it to longitude and latitude")
    return int(rows), int(columns)


def _heights(path: Path, first: str, lines: Iterator[str], cells: int, none: float) -> NDArray[np.float32]:
    height_m = np.empty(cells, dtype=np.float32)
    done = 0
    line: str | None = first
    while line is not None:
        try:
            row = np.array(line.split(), dtype=np.float64)
        except ValueError as error:
            raise _fault(
                path, f"one of its heights is not a number ({' '.join(str(error).split())[:60]})"
            ) from error
        if done + len(row) > cells:
            raise _fault(path, f"it has more heights than nrows x ncols = {cells:,}")
        bad = ~((row >= _LOWEST_M) & (row <= _HIGHEST_M)) & (row != none) & ~np.isnan(row)
        if bad.any():
            raise _fault(path, f"{row[bad][0]:g} m is not a height on earth: heights are in metres")
        height_m[done : done + len(row)] = np.where(row == none, np.nan, row)
        done += len(row)
        line = next(lines, None)
    if done < cells:
        raise _fault(path, f"it is not whole: {done:,} heights instead of nrows x ncols = {cells:,}")
    return height_m
