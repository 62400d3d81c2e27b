"""Hand-made crossings: turns, one-way streets, gates, private roads, fords and wet ground."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.domain.road_settings import RoadSettings
from tests.support.osm_xml import Grid
from tests.support.road_maps import ROAD, TRACK, drive, made_graph, metres, travel_on

# Two blocks: a ladder of three rungs.
#   a - b - c
#   |   |   |
#   d - e - f
LADDER: dict[str, Grid] = {"a": (0, 1), "b": (1, 1), "c": (2, 1), "d": (0, 0), "e": (1, 0), "f": (2, 0)}
STREETS = [("abc", ROAD), ("def", ROAD), ("ad", ROAD), ("be", ROAD), ("cf", ROAD)]
BASE, EAST = (0.2, 1), (1, 0.5)
PLACES = {"base": BASE, "mid": EAST}
PLAIN = RoadSettings(turn_s=0, sharp_turn_s=0)
TERTIARY_M_PER_S = PLAIN.tertiary_km_per_h / 3.6


def test_drive_is_the_road_and_the_time_its_speed_and_turns(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, LADDER, STREETS)
    road_m = metres(BASE, (1, 1), EAST)
    without = drive(travel_on(graph, PLACES, roads=PLAIN), "base", "mid")
    with_turn = drive(travel_on(graph, PLACES), "base", "mid")
    assert without == (pytest.approx(road_m, abs=1.5), pytest.approx(road_m / TERTIARY_M_PER_S, abs=1.1))
    assert with_turn[1] - without[1] in (7, 8)


@pytest.mark.parametrize(("kind", "to"), [("no_right_turn", 3), ("only_straight_on", 5)])
def test_forbidden_turn_is_driven_round(tmp_path: Path, kind: str, to: int) -> None:
    # Going east from a, the turn south at b is forbidden: the way by d is the next shortest.
    split = [("ab", ROAD), *STREETS[1:], ("bc", ROAD)]
    graph = made_graph(tmp_path, LADDER, split, no_turns=[(0, "b", to, kind)])
    travel = travel_on(graph, PLACES, roads=PLAIN)
    direct_m = metres(BASE, (1, 1), EAST)
    by_west_m = metres(BASE, (0, 1), (0, 0), (1, 0), EAST)
    assert direct_m < by_west_m
    assert drive(travel, "base", "mid")[0] == pytest.approx(by_west_m, abs=2)
    assert drive(travel, "mid", "base")[0] == pytest.approx(direct_m, abs=2)


def test_forbidden_turn_over_a_way_that_runs_through_is_not_guessed_at(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=[(0, "b", 3, "no_right_turn")])
    assert len(graph.no_turn) == 0
    assert graph.meta["skipped"] == {"turn restriction whose roads are not there or not clear": 1}


def test_nobody_turns_round_on_the_road(tmp_path: Path) -> None:
    # At b both the turn south and the way on are forbidden: the truck may not turn there and come back.
    split = [("ab", ROAD), *STREETS[1:], ("bc", ROAD)]
    rules = [(0, "b", 3, "no_right_turn"), (2, "d", 1, "no_left_turn")]
    graph = made_graph(tmp_path, LADDER, split, no_turns=rules)
    travel = travel_on(graph, PLACES, roads=PLAIN)
    by_east_m = metres(BASE, (1, 1), (2, 1), (2, 0), (1, 0), EAST)
    assert drive(travel, "base", "mid")[0] == pytest.approx(by_east_m, abs=2)


def test_one_way_street_is_driven_one_way(tmp_path: Path) -> None:
    streets = [*STREETS[:3], ("be", {**ROAD, "oneway": "yes"}), STREETS[4]]
    travel = travel_on(made_graph(tmp_path, LADDER, streets), {"top": (1, 0.9), "low": (1, 0.1)}, roads=PLAIN)
    assert drive(travel, "top", "low")[0] == pytest.approx(metres((1, 0.9), (1, 0.1)), abs=2)
    back_m = metres((1, 0.1), (1, 0), (0, 0), (0, 1), (1, 1), (1, 0.9))
    assert drive(travel, "low", "top")[0] == pytest.approx(back_m, abs=2)


def test_gate_takes_its_time_and_a_bollard_closes_the_road(tmp_path: Path) -> None:
    points = {**LADDER, "g": (1, 0.7)}
    streets = [*STREETS[:3], ("bge", ROAD), STREETS[4]]
    places = {"base": (1, 0.9), "mid": (1, 0.1)}
    free = travel_on(made_graph(tmp_path, points, streets), places, roads=PLAIN)
    settings = RoadSettings(turn_s=0, sharp_turn_s=0, gate_s=45)
    gate = made_graph(tmp_path, points, streets, tags={"g": {"barrier": "gate"}})
    shut = made_graph(tmp_path, points, streets, tags={"g": {"barrier": "bollard"}})
    assert (
        drive(travel_on(gate, places, roads=settings), "base", "mid")[1] - drive(free, "base", "mid")[1] == 45
    )
    round_m = metres((1, 0.9), (1, 1), (0, 1), (0, 0), (1, 0), (1, 0.1))
    assert drive(travel_on(shut, places, roads=PLAIN), "base", "mid")[0] == pytest.approx(round_m, abs=2)


def test_dead_end_behind_a_bollard_is_reached_from_its_own_side(tmp_path: Path) -> None:
    points = {**LADDER, "g": (1, 0.7)}
    streets = [*STREETS[:3], ("bge", ROAD), STREETS[4]]
    graph = made_graph(tmp_path, points, streets, tags={"g": {"barrier": "bollard"}})
    travel = travel_on(graph, {"base": (0.5, 1), "near": (1, 0.95), "far": (1, 0.6)}, roads=PLAIN)
    assert not travel.warnings
    assert drive(travel, "base", "near")[0] == pytest.approx(metres((0.5, 1), (1, 1), (1, 0.95)), abs=2)
    assert drive(travel, "base", "far")[0] > metres((1, 1), (0, 1), (0, 0), (1, 0))


def test_private_road_may_be_driven_to_and_from_but_not_through(tmp_path: Path) -> None:
    private = [*STREETS[:3], ("be", {**ROAD, "access": "private"}), STREETS[4]]
    graph = made_graph(tmp_path, LADDER, private)
    places = {"base": (0.9, 1), "inside": (1, 0.8), "beyond": (0.9, 0)}
    travel = travel_on(graph, places, roads=PLAIN)
    assert drive(travel, "base", "inside")[0] == pytest.approx(metres((0.9, 1), (1, 1), (1, 0.8)), abs=2)
    assert drive(travel, "inside", "beyond")[0] == pytest.approx(metres((1, 0.8), (1, 0), (0.9, 0)), abs=2)
    round_m = metres((0.9, 1), (0, 1), (0, 0), (0.9, 0))
    assert drive(travel, "base", "beyond")[0] == pytest.approx(round_m, abs=2)


def test_two_yards_on_one_private_road_are_neighbours(tmp_path: Path) -> None:
    private = [*STREETS[:3], ("be", {**ROAD, "motor_vehicle": "destination"}), STREETS[4]]
    places = {"base": (0, 1), "one": (1, 0.8), "two": (1, 0.2)}
    travel = travel_on(made_graph(tmp_path, LADDER, private), places, roads=PLAIN)
    for a, b in (("one", "two"), ("two", "one")):
        assert drive(travel, a, b)[0] == pytest.approx(metres((1, 0.8), (1, 0.2)), abs=2)


def test_private_lane_off_a_private_lane_is_reached(tmp_path: Path) -> None:
    points = {**LADDER, "p": (0.5, 1), "q": (0.5, 1.4), "r": (0.8, 1.4)}
    lane = {**ROAD, "access": "private"}
    streets = [("apbc", ROAD), *STREETS[1:], ("pq", lane), ("qr", lane)]
    places = {"base": (0, 0.5), "end": (0.8, 1.4)}
    travel = travel_on(made_graph(tmp_path, points, streets), places, roads=PLAIN)
    there_m = metres((0, 0.5), (0, 1), (0.5, 1), (0.5, 1.4), (0.8, 1.4))
    assert drive(travel, "base", "end")[0] == pytest.approx(there_m, abs=2)
    assert drive(travel, "end", "base")[0] == pytest.approx(there_m, abs=2)


def test_soft_track_is_a_short_cut_when_dry_and_closed_when_wet(tmp_path: Path) -> None:
    soft = [*STREETS[:3], ("be", {**TRACK, "tracktype": "grade4"}), STREETS[4]]
    graph = made_graph(tmp_path, LADDER, soft)
    places = {"base": (0.9, 1), "yard": (0.9, 0)}
    fast = {"turn_s": 0, "sharp_turn_s": 0, "track_grade4_km_per_h": 40}
    dry = travel_on(graph, places, roads=RoadSettings(**fast))
    wet = travel_on(graph, places, roads=RoadSettings(**fast, ground="wet"))
    assert drive(dry, "base", "yard")[0] == pytest.approx(metres((0.9, 1), (1, 1), (1, 0), (0.9, 0)), abs=2)
    assert drive(wet, "base", "yard")[0] == pytest.approx(metres((0.9, 1), (0, 1), (0, 0), (0.9, 0)), abs=2)
    assert "wet ground" in wet.provenance.note


def test_ford_takes_time_and_closes_when_wet(tmp_path: Path) -> None:
    points = {**LADDER, "g": (1, 0.5)}
    streets = [*STREETS[:3], ("bge", ROAD), STREETS[4]]
    graph = made_graph(tmp_path, points, streets, tags={"g": {"ford": "yes"}})
    places = {"base": (1, 0.9), "mid": (1, 0.1)}
    dry = travel_on(graph, places, roads=RoadSettings(turn_s=0, sharp_turn_s=0, ford_s=20))
    wet = travel_on(graph, places, roads=RoadSettings(ground="wet"))
    straight_m = metres((1, 0.9), (1, 0.1))
    assert drive(dry, "base", "mid")[1] == pytest.approx(straight_m / TERTIARY_M_PER_S + 20, abs=1.1)
    assert drive(wet, "base", "mid")[0] > 2 * straight_m


def test_roundabout_costs_no_turn_within_it(tmp_path: Path) -> None:
    points = {"w": (0, 0), "a": (1, 0), "b": (1.02, -0.02), "c": (1.04, 0), "d": (1.02, 0.02), "e": (2, 0)}
    ring = ("abcda", {**ROAD, "junction": "roundabout"})
    graph = made_graph(tmp_path, points, [("wa", ROAD), ring, ("ce", ROAD)])
    places = {"base": (0.1, 0), "yard": (1.9, 0)}
    ring_m = metres((0.1, 0), (1, 0), (1.02, -0.02), (1.04, 0), (1.9, 0))
    there = drive(travel_on(graph, places), "base", "yard")
    assert there[0] == pytest.approx(ring_m, abs=2)
    assert there[1] - ring_m / TERTIARY_M_PER_S <= 2 * 7.5 + 1.1


def test_posted_limit_lowers_a_speed_and_never_raises_it(tmp_path: Path) -> None:
    def seconds(posted: str) -> int:
        streets = [("abc", {**ROAD, "maxspeed": posted}), *STREETS[1:]]
        graph = made_graph(tmp_path, LADDER, streets)
        return drive(travel_on(graph, {"base": (0.1, 1), "yard": (0.9, 1)}, roads=PLAIN), "base", "yard")[1]

    assert seconds("25") == pytest.approx(2 * seconds("50"), abs=2)
    assert seconds("100") == seconds("50")


def test_speeds_and_surfaces_are_the_users_to_set(tmp_path: Path) -> None:
    gravel = [("abc", {**ROAD, "surface": "gravel"}), *STREETS[1:]]
    graph = made_graph(tmp_path, LADDER, gravel)
    places = {"base": (0.1, 1), "yard": (0.9, 1)}
    road_m = metres((0.1, 1), (0.9, 1))
    for settings, km_per_h in (
        (RoadSettings(), 40),
        (RoadSettings(gravel_km_per_h=20), 20),
        (RoadSettings(gravel_km_per_h=90), 50),
    ):
        seconds = drive(travel_on(graph, places, roads=settings), "base", "yard")[1]
        assert seconds == pytest.approx(road_m / (km_per_h / 3.6), abs=1.1)
