"""Drives on roads as the planner gets them: by truck, with warnings, drawn along the road."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routing.domain.errors import InputError
from routing.domain.road_settings import RoadSettings
from routing.domain.travel import Travel
from routing.travel.graph.graph import RoadGraph
from routing.travel.roads.roads import NO_WAY_S, roads_travel
from routing.travel.roads.words import far, pace
from tests.support.osm_xml import Grid, spot
from tests.support.road_maps import ROAD, TRACK, drive, made_graph, metres, operation_at, travel_on
from tests.support.samples import truck

LADDER: dict[str, Grid] = {"a": (0, 1), "b": (1, 1), "c": (2, 1), "d": (0, 0), "e": (1, 0), "f": (2, 0)}
PLAIN = RoadSettings(turn_s=0, sharp_turn_s=0)
HEAVY, LIGHT = truck("heavy"), truck("light", gvwr_kg=4990.0, tare_kg=3400.0)
NEAR, FAR = (0.9, 1), (0.9, 0)
SHORT_M, ROUND_M = metres(NEAR, (1, 1), (1, 0), FAR), metres(NEAR, (0, 1), (0, 0), FAR)


def _bridge(folder: Path, **limit: str) -> RoadGraph:
    """A ladder whose middle rung is the short way, and limited."""
    streets = [("abc", ROAD), ("def", ROAD), ("ad", ROAD), ("be", {**ROAD, **limit}), ("cf", ROAD)]
    return made_graph(folder, LADDER, streets)


def _on(graph: RoadGraph, **more: object) -> Travel:
    return travel_on(graph, {"base": NEAR, "yard": FAR}, roads=PLAIN, **more)


def test_heavy_truck_goes_round_the_bridge_that_the_light_one_crosses(tmp_path: Path) -> None:
    travel = _on(_bridge(tmp_path, maxweight="5"), trucks=(HEAVY, LIGHT))
    assert drive(travel, "base", "yard", "heavy")[0] == pytest.approx(ROUND_M, abs=2)
    assert drive(travel, "base", "yard", "light")[0] == pytest.approx(SHORT_M, abs=2)
    assert len(travel.by_truck) == 1


def test_each_truck_is_drawn_on_the_road_it_takes(tmp_path: Path) -> None:
    travel = _on(_bridge(tmp_path, maxweight="5"), trucks=(HEAVY, LIGHT))
    corner = tuple(round(v, 5) for v in reversed(spot((0, 0))))
    drawn = {
        name: [(round(x, 5), round(y, 5)) for x, y in travel.leg(name, "depot:base", "yard:yard").geometry]
        for name in ("heavy", "light")
    }
    assert corner in drawn["heavy"]
    assert corner not in drawn["light"]


def test_trucks_that_no_limit_tells_apart_share_one_table(tmp_path: Path) -> None:
    assert not _on(_bridge(tmp_path, maxweight="20"), trucks=(HEAVY, LIGHT)).by_truck


@pytest.mark.parametrize(
    ("limit", "more", "passes"),
    [
        ({"maxweightrating": "5"}, {}, False), ({"maxweightrating": "12"}, {}, True),
        ({"hgv": "no"}, {}, False),
        ({"maxheight": "3.2"}, {"height_m": 3.5}, False), ({"maxheight": "3.2"}, {"height_m": 3.0}, True),
        ({"maxheight": "3.2"}, {}, True), ({"maxheight": "default"}, {"height_m": 3.9}, True),
        ({"maxlength": "7"}, {"length_m": 8.5}, False), ({"maxlength": "10"}, {"length_m": 8.5}, True),
        ({"maxheight": "11'6\""}, {"height_m": 3.6}, False),
        ({"maxwidth": "2.3"}, {"width_m": 2.5}, False), ({"maxwidth": "2.5 m"}, {"width_m": 2.5}, True),
        ({"maxwidth": "2.3"}, {}, True),
        ({"maxaxleload": "5"}, {"axle_kg": 5600.0}, False), ({"maxaxleload": "8"}, {"axle_kg": 5600.0}, True),
        ({"maxaxleload": "5"}, {}, True),
    ],
)  # fmt: skip
def test_posted_limits_bind_the_truck(
    tmp_path: Path, limit: dict[str, str], more: dict[str, float], passes: bool
) -> None:
    travel = _on(_bridge(tmp_path, **limit), trucks=(truck(**more),))
    assert drive(travel, "base", "yard")[0] == pytest.approx(SHORT_M if passes else ROUND_M, abs=2)


@pytest.mark.parametrize(
    ("limit", "low", "high"),
    [
        ({"barrier": "height_restrictor", "maxheight": "2.6"}, {"height_m": 2.5}, {"height_m": 3.4}),
        ({"maxheight": "3 m"}, {}, {"height_m": 3.4}),
        ({"barrier": "gate", "maxwidth": "2.3"}, {"width_m": 2.2}, {"width_m": 2.5}),
        ({"maxweight": "10"}, {"gvwr_kg": 8845.0}, {"gvwr_kg": 10_500.0}),
    ],
)  # fmt: skip
@pytest.mark.parametrize("streets", [("bge",), ("bg", "ge"), ("egb",), ("gb", "eg"), ("ge", "gb")])
def test_limit_posted_at_a_point_binds_those_who_pass_it(
    tmp_path: Path,
    limit: dict[str, str],
    low: dict[str, float],
    high: dict[str, float],
    streets: tuple[str, ...],
) -> None:
    points = {**LADDER, "g": (1, 0.5)}
    ways = [(letters, ROAD) for letters in ("abc", "def", "ad", "cf", *streets)]
    graph = made_graph(tmp_path, points, ways, tags={"g": limit})
    places = {"base": NEAR, "yard": FAR, "above": (1, 0.8), "below": (1, 0.2)}
    trucks = (truck("low", **low), truck("high", **high))
    travel = travel_on(graph, places, trucks=trucks, roads=RoadSettings(turn_s=0, sharp_turn_s=0, gate_s=0))
    assert not travel.warnings
    assert drive(travel, "base", "yard", "low")[0] == pytest.approx(SHORT_M, abs=2)
    assert drive(travel, "base", "yard", "high")[0] == pytest.approx(ROUND_M, abs=2)
    assert drive(travel, "base", "above", "high")[0] == pytest.approx(metres(NEAR, (1, 1), (1, 0.8)), abs=2)
    assert drive(travel, "above", "below", "low")[0] == pytest.approx(metres((1, 0.8), (1, 0.2)), abs=2)
    assert drive(travel, "above", "below", "high")[0] > ROUND_M


def test_small_truck_is_no_goods_vehicle_to_the_key_hgv(tmp_path: Path) -> None:
    pickup = truck(gvwr_kg=3400.0, tare_kg=2400.0)
    assert drive(_on(_bridge(tmp_path, hgv="no"), trucks=(pickup,)), "base", "yard")[0] < ROUND_M - 100


def test_bridge_may_be_crossed_to_a_yard_where_the_truck_weighs_less_by_rule(tmp_path: Path) -> None:
    graph = _bridge(tmp_path, maxweight="7")
    free = _on(graph, trucks=(HEAVY,))
    limited = _on(graph, trucks=(HEAVY,), yard={"max_gross_kg": 6500.0})
    assert drive(free, "base", "yard", "heavy")[0] == pytest.approx(ROUND_M, abs=2)
    for a, b in (("base", "yard"), ("yard", "base")):
        assert drive(limited, a, b, "heavy")[0] == pytest.approx(SHORT_M, abs=2)


def test_plated_mass_does_not_shrink_with_the_load(tmp_path: Path) -> None:
    graph = _bridge(tmp_path, maxweightrating="7")
    limited = _on(graph, trucks=(HEAVY,), yard={"max_gross_kg": 6500.0})
    assert drive(limited, "base", "yard", "heavy")[0] == pytest.approx(ROUND_M, abs=2)


def test_yard_behind_a_bridge_is_closed_to_the_heavy_truck_alone(tmp_path: Path) -> None:
    points = {**LADDER, "y": (1, 2)}
    streets = [("abc", ROAD), ("def", ROAD), ("ad", ROAD), ("cf", ROAD), ("by", {**ROAD, "maxweight": "5"})]
    places = {"base": NEAR, "yard": (1, 1.9)}
    travel = travel_on(made_graph(tmp_path, points, streets), places, trucks=(HEAVY, LIGHT))
    assert travel.closed == {"heavy": frozenset({"yard:yard"})}
    assert drive(travel, "base", "yard", "heavy")[1] >= NO_WAY_S
    assert drive(travel, "base", "yard", "light")[0] == pytest.approx(metres(NEAR, (1, 1), (1, 1.9)), abs=2)
    (warning,) = travel.warnings
    assert (warning.code, warning.place) == ("no_road_for_truck", "yard:yard")
    assert "heavy" in warning.text
    assert "light" not in warning.text.replace("lighter", "")


def test_yard_off_the_road_pays_for_the_field(tmp_path: Path) -> None:
    graph = _bridge(tmp_path)
    near = travel_on(graph, {"base": NEAR, "yard": (0.4, 1.0)}, roads=PLAIN)
    off = travel_on(graph, {"base": NEAR, "yard": (0.4, 1.1)}, roads=PLAIN)
    field_m = metres((0.4, 1.0), (0.4, 1.1))
    extra = np.subtract(drive(off, "base", "yard"), drive(near, "base", "yard"))
    assert extra[0] == pytest.approx(field_m, abs=2)
    assert extra[1] == pytest.approx(field_m / (8 / 3.6), abs=2)


def test_yard_farther_off_than_the_limit_is_warned_of_with_its_coordinates(tmp_path: Path) -> None:
    graph = _bridge(tmp_path)
    places = {"base": NEAR, "yard": (0.4, 1.6)}
    (warning,) = travel_on(graph, places).warnings
    assert (warning.code, warning.place) == ("far_from_road", "yard:yard")
    lat, lon = spot((0.4, 1.6))
    assert f"{lat:.5f}, {lon:.5f}" in warning.text
    assert f"lies {metres((0.4, 1.6), (0.4, 1.0)) / 0.3048:.0f} ft from" in warning.text
    assert "at 5 mph" in warning.text
    assert not travel_on(graph, places, roads=RoadSettings(snap_limit_m=800)).warnings


def test_yards_outside_the_extract_are_errors_all_at_once(tmp_path: Path) -> None:
    graph = _bridge(tmp_path)
    with pytest.raises(InputError) as refusal:
        travel_on(graph, {"base": NEAR, "ok": FAR, "north": (1, 8), "away": (900, 1)})
    problems = refusal.value.problems
    assert [p.code for p in problems] == ["far_from_road"] * 2
    assert "north" in problems[0].wrong
    assert "lies 4.8 mi from" in problems[0].wrong
    assert "more than 31.1 mi" in problems[1].wrong


def test_yard_beside_a_motorway_is_reached_from_the_lane_beyond_it(tmp_path: Path) -> None:
    points = {**LADDER, "m": (0, 1.05), "n": (2, 1.05)}
    streets = [("abc", ROAD), ("def", ROAD), ("ad", ROAD), ("be", ROAD), ("cf", ROAD)]
    streets += [("am", {"highway": "motorway_link"}), ("mn", {"highway": "motorway", "oneway": "no"})]
    streets += [("nc", {"highway": "motorway_link"})]
    graph = made_graph(tmp_path, points, streets)
    travel = travel_on(graph, {"base": NEAR, "yard": (0.4, 1.045)}, roads=PLAIN)
    assert not travel.warnings
    beside_m = metres((0.4, 1.045), (0.4, 1.0))
    assert drive(travel, "base", "yard")[0] == pytest.approx(metres(NEAR, (0.4, 1)) + beside_m, abs=2)


def test_distances_are_told_in_the_readers_units() -> None:
    us = operation_at({"base": NEAR, "yard": FAR})
    metric = replace(us, units="metric")
    assert [far(us, m) for m in (131.0, 1500.0)] == ["430 ft", "0.9 mi"]
    assert [far(metric, m) for m in (131.0, 1500.0)] == ["131 m", "1.5 km"]
    assert (pace(us, 8.0), pace(metric, 8.0)) == ("5 mph", "8 km/h")


def test_yard_on_an_island_goes_to_the_nearest_road_that_connects(tmp_path: Path) -> None:
    points = {**LADDER, "i": (0.4, 1.3), "j": (0.6, 1.3)}
    streets = [("abc", ROAD), ("def", ROAD), ("ad", ROAD), ("be", ROAD), ("cf", ROAD), ("ij", ROAD)]
    travel = travel_on(made_graph(tmp_path, points, streets), {"base": NEAR, "yard": (0.5, 1.3)}, roads=PLAIN)
    (warning,) = travel.warnings
    assert (warning.code, warning.place) == ("island_road", "yard:yard")
    lat, lon = spot((0.5, 1.0))
    assert f"{lat:.5f}, {lon:.5f}" in warning.text
    assert "does not connect with the other roads" in warning.text
    assert drive(travel, "base", "yard")[0] == pytest.approx(metres(NEAR, (0.5, 1), (0.5, 1.3)), abs=2)


@pytest.mark.parametrize(
    ("lane", "ground", "words"),
    [
        ({"tracktype": "grade5"}, "wet", "closed by wet ground"),
        ({"tracktype": "grade5", "maxweight": "3"}, "wet", "closed to these trucks by a limit"),
        ({"maxweight": "3"}, "dry", "closed to these trucks by a limit"),
        ({"oneway": "yes"}, "wet", "does not connect with the other roads"),
    ],
)  # fmt: skip
def test_warning_tells_why_no_truck_reaches_the_road_of_a_yard(
    tmp_path: Path, lane: dict[str, str], ground: str, words: str
) -> None:
    points = {**LADDER, "p": (0.5, 1), "i": (0.5, 1.4), "j": (0.5, 1.7)}
    streets = [("apbc", ROAD), *[(s, ROAD) for s in ("def", "ad", "be", "cf")], ("pi", TRACK)]
    streets += [("ij", {**TRACK, **lane})]
    graph = made_graph(tmp_path, points, streets)
    places = {"base": NEAR, "yard": (0.5, 1.6)}
    travel = travel_on(graph, places, trucks=(HEAVY, LIGHT), roads=RoadSettings(ground=ground))
    (warning,) = travel.warnings
    assert warning.code == "island_road"
    assert words in warning.text


def test_last_mile_is_in_the_legs_of_its_yard_alone(tmp_path: Path) -> None:
    graph = _bridge(tmp_path)
    without, with_it = _on(graph), _on(graph, yard={"last_mile_s": 240})
    assert drive(with_it, "base", "yard")[1] - drive(without, "base", "yard")[1] == 240
    assert with_it.matrix.drive_s.diagonal().tolist() == [0, 0]


def test_drives_are_no_estimate_and_name_their_source(tmp_path: Path) -> None:
    provenance = _on(_bridge(tmp_path)).provenance
    assert (provenance.method, provenance.estimated) == ("roads", False)
    assert "made.osm" in provenance.note
    assert "OpenStreetMap contributors" in provenance.note
    assert "ODbL" in provenance.note


def test_line_begins_and_ends_at_the_places_and_is_as_long_as_the_drive(tmp_path: Path) -> None:
    travel = _on(_bridge(tmp_path))
    leg = travel.leg("T1", "depot:base", "yard:yard")
    assert (leg.geometry[0], leg.geometry[-1]) == travel.positions
    drawn = [tuple(reversed(point)) for point in leg.geometry]
    grid = [((lon + 100.80) / 0.01, (lat - 46.80) / 0.01) for lat, lon in drawn]
    assert metres(*grid) == pytest.approx(leg.distance_m, abs=2)
    assert set(travel.lines) == {("depot:base", "yard:yard"), ("yard:yard", "depot:base")}
    assert ("depot:base", "depot:base") not in travel.lines


def test_map_gets_the_roads_around_main_roads_first(tmp_path: Path) -> None:
    points = {**LADDER, "x": (40, 1), "y": (41, 1)}
    streets = [("abc", {"highway": "track"}), ("def", {"highway": "primary"}), ("ad", ROAD), ("xy", ROAD)]
    travel = _on(made_graph(tmp_path, points, streets))
    assert [rank for rank, _ in travel.roads] == [0, 1, 2]
    west = min(lon for _, line in travel.roads for lon, _ in line)
    assert west == pytest.approx(spot((0, 0))[1])
    assert max(lon for _, line in travel.roads for lon, _ in line) < spot((30, 1))[1]


def test_place_on_a_road_that_cannot_be_driven_to_moves_to_the_next(tmp_path: Path) -> None:
    # A slip road at the edge of the extract: into it only from the cut-off side.
    points = {"a": (0, 0), "b": (1, 0), "c": (2, 0), "d": (1, 1), "x": (0.8, -0.05), "y": (0.9, -0.02)}
    one_way = {**ROAD, "oneway": "yes"}
    streets = [
        ("ab", ROAD),
        ("bc", ROAD),
        ("ad", ROAD),
        ("dc", ROAD),
        ("xy", ROAD),
        ("yb", one_way),
        ("ax", one_way),
    ]
    rules = [(4, "y", 5, "no_left_turn")]
    graph = made_graph(tmp_path, points, streets, no_turns=rules)
    travel = travel_on(graph, {"base": (1, 0.98), "yard": (0.95, -0.012)}, roads=PLAIN)
    assert not travel.closed
    assert drive(travel, "base", "yard")[0] < metres((1, 1), (2, 0), (0.9, 0)) + 200


def test_operation_without_trucks_still_has_drives(tmp_path: Path) -> None:
    graph = _bridge(tmp_path)
    operation = replace(operation_at({"base": NEAR, "yard": FAR}, roads=PLAIN), trucks={})
    assert drive(roads_travel(operation, graph), "base", "yard")[0] == pytest.approx(SHORT_M, abs=2)


def test_yard_at_a_crossing_takes_a_road_that_can_be_left_both_ways(tmp_path: Path) -> None:
    one_way = {**ROAD, "oneway": "yes"}
    streets = [
        ("ab", one_way),
        ("be", ROAD),
        ("de", ROAD),
        ("da", ROAD),
        ("ef", ROAD),
        ("bc", one_way),
        ("cf", ROAD),
    ]
    graph = made_graph(tmp_path, LADDER, streets)
    travel = travel_on(graph, {"base": (1, 0.5), "yard": (1, 1)}, roads=PLAIN)
    for a, b in (("base", "yard"), ("yard", "base")):
        assert drive(travel, a, b)[0] == pytest.approx(metres((1, 0.5), (1, 1)), abs=2)


def test_yard_with_a_gross_limit_opens_no_bridge_for_the_drives_to_other_yards(tmp_path: Path) -> None:
    points = {**LADDER, "y": (1, 2)}
    streets = [("abc", ROAD), ("def", ROAD), ("ad", ROAD), ("cf", ROAD), ("by", {**ROAD, "maxweight": "7"})]
    operation = operation_at(
        {"base": NEAR, "behind": (1, 1.9), "light": (0.5, 0)}, [HEAVY, LIGHT], roads=PLAIN
    )
    yards = {**operation.yards, "light": replace(operation.yards["light"], max_gross_kg=6000.0)}
    travel = roads_travel(replace(operation, yards=yards), made_graph(tmp_path, points, streets))
    assert travel.closed == {"heavy": frozenset({"yard:behind"})}
