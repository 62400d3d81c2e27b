"""Elevation grids: what is read, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from routing.domain.errors import FeedroundError
from routing.travel.graph import cache as road_cache
from routing.travel.roads import elevation
from routing.travel.roads.elevation import read_grid

HEAD = "ncols 3\nnrows 2\nxllcorner 10.0\nyllcorner 50.0\ncellsize 0.1\nNODATA_value -9999\n"
WHOLE = HEAD + "100 200 300\n0 100 200\n"


def _file(folder: Path, text: str | bytes) -> Path:
    path = folder / "hills.asc"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def _at(grid: elevation.Grid, lat: float, lon: float) -> float:
    return float(grid.at(np.array([lat]), np.array([lon]))[0])


def test_heights_stand_in_the_middle_of_their_cells_north_first(tmp_path: Path) -> None:
    grid = read_grid(_file(tmp_path, WHOLE))
    assert _at(grid, 50.15, 10.05) == pytest.approx(100)
    assert _at(grid, 50.05, 10.25) == pytest.approx(200)


def test_between_the_middles_heights_run_straight(tmp_path: Path) -> None:
    grid = read_grid(_file(tmp_path, WHOLE))
    # The made-up ground is a plane: 1,000 m up for each degree, both ways.
    for lat, lon in ((50.10, 10.12), (50.07, 10.20), (50.149, 10.051)):
        assert _at(grid, lat, lon) == pytest.approx(1000 * (lat - 50.05) + 1000 * (lon - 10.05), abs=1e-3)


def test_beyond_the_grid_and_where_it_has_a_hole_nobody_knows(tmp_path: Path) -> None:
    grid = read_grid(_file(tmp_path, HEAD + "100 -9999 300\n0 100 200\n"))
    for lat, lon in ((50.15, 10.31), (50.21, 10.10), (49.0, 10.1), (50.12, 10.12)):
        assert np.isnan(_at(grid, lat, lon))
    assert _at(read_grid(_file(tmp_path, WHOLE)), 50.12, 10.12) > 0


def test_corner_or_middle_and_any_breaking_of_lines_say_the_same(tmp_path: Path) -> None:
    usual = read_grid(_file(tmp_path, WHOLE))
    other = HEAD.replace("xllcorner 10.0", "XLLCENTER 10.05").replace("yllcorner 50.0", "yllcenter 50.05")
    wrapped = read_grid(_file(tmp_path, other + "100\n200 300 0\n\n100 200"))
    assert (wrapped.west, wrapped.north) == (pytest.approx(usual.west), pytest.approx(usual.north))
    assert np.array_equal(wrapped.height_m, usual.height_m)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no cellsize, ncols, nrows"), ("hello\n", "no cellsize, ncols, nrows"),
        (bytes(range(128, 256)), "not text"), (b"II*\0" + bytes(3000), "an ESRI ASCII grid"),
        (HEAD, "not whole: 0 heights instead of"), (WHOLE.rstrip()[:-4], "not whole: 5 heights"),
        (WHOLE + "1\n", "more heights than"), (HEAD + "1 2 x\n4 5 6\n", "not a number"),
        (WHOLE.replace("300", "30000"), "not a height on earth"),
        (WHOLE.replace("300", "inf"), "not a height on earth"),
        (WHOLE.replace("ncols 3", "ncols many"), "its ncols is not one number"),
        (WHOLE.replace("ncols 3", "ncols 3 4"), "its ncols is not one number"),
        (WHOLE.replace("ncols 3", "ncols 3.5"), "whole numbers"),
        (WHOLE.replace("ncols 3", "ncols nan"), "whole numbers"),
        (WHOLE.replace("ncols 3", "ncols -3"), "whole numbers"),
        (WHOLE.replace("ncols 3", "ncols 1e12"), "more than 60,000,000"),
        (WHOLE.replace("cellsize 0.1", "cellsize 30"), "not in degrees"),
        (WHOLE.replace("cellsize 0.1", "cellsize nan"), "not in degrees"),
        (WHOLE.replace("xllcorner 10.0", "xllcorner 4470000"), "not in degrees"),
        (WHOLE.replace("yllcorner 50.0", "yllcorner nan"), "not in degrees"),
        (WHOLE.replace("xllcorner 10.0\n", ""), "no xllcorner, yllcorner"),
    ],
)  # fmt: skip
def test_what_is_no_grid_is_refused_with_its_own_message(
    tmp_path: Path, text: str | bytes, words: str
) -> None:
    with pytest.raises(FeedroundError, match=words):
        read_grid(_file(tmp_path, text))


def test_missing_file_and_a_file_too_large_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(FeedroundError, match="cannot be read"):
        read_grid(tmp_path / "none.asc")
    monkeypatch.setattr(elevation, "MOST_BYTES", 20)
    with pytest.raises(FeedroundError, match="more than a county"):
        read_grid(_file(tmp_path, WHOLE))


def test_grid_is_kept_and_made_again_when_the_file_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(road_cache.PLACE, str(tmp_path / "kept"))
    parsed: list[Path] = []
    real = elevation._parsed

    def counted(path: Path) -> elevation.Grid:
        parsed.append(path)
        return real(path)

    monkeypatch.setattr(elevation, "_parsed", counted)
    first, again = (read_grid(_file(tmp_path, WHOLE)) for _ in range(2))
    assert np.array_equal(first.height_m, again.height_m)
    assert (first.west, first.north, first.step) == (again.west, again.north, again.step)
    assert _at(read_grid(_file(tmp_path, WHOLE.replace("300", "900"))), 50.15, 10.25) == pytest.approx(900)
    assert len(parsed) == 2
