"""What drives climb, on made-up ground."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from routing.domain.errors import FeedroundError
from routing.domain.places import Position
from routing.domain.road_settings import RoadSettings
from routing.domain.travel import Leg, Travel
from routing.travel.graph.file import graph_from_extract
from routing.travel.roads.elevation import Grid
from routing.travel.roads.roads import roads_travel
from routing.travel.straight.geodesic import geodesic_m
from tests.support.made_county import write_county
from tests.support.osm_xml import LAT, LON, STEP_DEGREES
from tests.support.osm_xml import Grid as Spot
from tests.support.road_maps import ROAD, made_graph, metres, operation_at

COAST = RoadSettings().coast_slope
LINE: dict[str, Spot] = {"a": (0, 0), "b": (0, 4), "x": (1, 0), "y": (1, 4)}
PLACES: dict[str, Spot] = {"base": (0, 0.5), "yard": (0, 3.5), "mid": (0, 2)}
STEP_M = metres((0, 0), (0, 1))


def ground(height: Callable[[np.ndarray, np.ndarray], np.ndarray], size: int = 14) -> Grid:
    """Heights as a function of steps east and north, with twenty cells to a step."""
    cell = STEP_DEGREES / 20
    at = np.arange(-20, size * 20) * 1.0
    east, north = np.meshgrid(at / 20, at[::-1] / 20)
    west, top = LON + at[0] * cell, LAT + at[-1] * cell
    return Grid(west, top, cell, height(east, north).astype(np.float32))


def _on(folder: Path, grid: Grid | None, **more: object) -> Travel:
    graph = made_graph(folder, LINE, [("ab", ROAD), ("ax", ROAD), ("xy", ROAD)])
    return roads_travel(operation_at(PLACES, **more), graph, grid)


def _climb(travel: Travel, a: str, b: str) -> int:
    keys = {key.partition(":")[2]: key for key in travel.places}
    return travel.leg("T1", keys[a], keys[b]).climb_m


def test_a_steep_hill_is_climbed_in_full_and_gives_nothing_back(tmp_path: Path) -> None:
    travel = _on(tmp_path, ground(lambda east, north: 60.0 * north))
    assert _climb(travel, "base", "yard") == pytest.approx(180, abs=1)
    assert _climb(travel, "base", "mid") == pytest.approx(90, abs=1)
    assert _climb(travel, "yard", "base") == 0


def test_a_gentle_descent_gives_back_what_was_climbed(tmp_path: Path) -> None:
    slope_m = 0.5 * COAST * STEP_M
    travel = _on(tmp_path, ground(lambda east, north: slope_m * (2 - np.abs(north - 2))))
    assert _climb(travel, "base", "mid") == pytest.approx(1.5 * slope_m, abs=1)
    assert _climb(travel, "base", "yard") <= 1


def test_over_a_steep_ridge_only_the_coasting_is_given_back(tmp_path: Path) -> None:
    travel = _on(tmp_path, ground(lambda east, north: 60.0 * (2 - np.abs(north - 2))))
    assert _climb(travel, "base", "yard") == pytest.approx(90 - 1.5 * COAST * STEP_M, abs=1)
    full = _on(
        tmp_path,
        ground(lambda east, north: 60.0 * (2 - np.abs(north - 2))),
        roads=RoadSettings(coast_slope=0),
    )
    assert _climb(full, "base", "yard") == pytest.approx(90, abs=1)


def test_level_ground_and_no_grid_climb_nothing(tmp_path: Path) -> None:
    level = _on(tmp_path, ground(lambda east, north: np.full_like(north, 800.0)))
    assert level.matrix.climb_m is not None
    assert not level.matrix.climb_m.any()
    without = _on(tmp_path, None)
    assert without.matrix.climb_m is None
    assert _climb(without, "base", "yard") == 0
    assert "climbs" not in without.provenance.note


def test_note_tells_of_the_grid_and_of_roads_beyond_it(tmp_path: Path) -> None:
    def half(east: np.ndarray, north: np.ndarray) -> np.ndarray:
        return np.where(north > 2.6, np.nan, 50.0 * north)

    roads = RoadSettings(elevation="maps/hills.asc")
    travel = _on(tmp_path, ground(half), roads=roads)
    assert "Fuel counts climbs by the heights of hills.asc (" in travel.provenance.note
    assert "% of the roads have no height there and count as level)" in travel.provenance.note
    assert _climb(travel, "base", "yard") == pytest.approx(105, abs=3)


def test_grid_of_another_county_is_refused(tmp_path: Path) -> None:
    grid = ground(lambda east, north: 50.0 * north)
    with pytest.raises(FeedroundError, match="no heights for most"):
        _on(tmp_path, Grid(grid.west + 5, grid.north, grid.step, grid.height_m))


def _walked(leg: Leg, grid: Grid) -> float:
    """The climb of a leg by walking its line in steps of a few metres, its ends off the road left out."""
    total = 0.0
    for (lon_a, lat_a), (lon_b, lat_b) in pairwise(leg.geometry[1:-1]):
        run_m = geodesic_m(Position(lat_a, lon_a), Position(lat_b, lon_b))
        share = np.linspace(0, 1, max(2, int(run_m / 4)))
        height_m = grid.at(lat_a + share * (lat_b - lat_a), lon_a + share * (lon_b - lon_a))
        total += np.maximum(np.diff(height_m), -COAST * run_m / (len(share) - 1)).sum()
    return max(0.0, total)


def test_climbs_are_those_of_walking_every_line(tmp_path: Path) -> None:
    graph = graph_from_extract(write_county(tmp_path / "county.osm"))
    hills = ground(lambda east, north: 40 * np.sin(2 * east) * np.cos(1.5 * north) + 15 * north)
    places: dict[str, Spot] = {
        f"p{i}{j}": (i + 0.3, j + 0.1) for i in range(1, 10, 3) for j in range(1, 10, 3)
    }
    travel = roads_travel(operation_at(places), graph, hills)
    compared = 0
    for a in travel.places:
        for b in travel.places:
            leg = travel.leg("T1", a, b)
            if a != b and len(leg.geometry) > 3:
                walked = _walked(leg, hills)
                assert leg.climb_m == pytest.approx(walked, abs=3 + 0.05 * walked)
                compared += 1
    assert compared > 50
