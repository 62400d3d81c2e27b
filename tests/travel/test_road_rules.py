"""Hand-made crossings with turns forbidden over ways, under conditions, and with several ends."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from routing.domain.road_settings import RoadSettings
from routing.travel.graph.file import load_graph, save_graph
from routing.travel.graph.rules import UNCLEAR
from routing.travel.osm.turns import SEVERAL, UNKNOWN, Turn, turns_of
from tests.support.osm_xml import Grid
from tests.support.road_maps import ROAD, drive, made_graph, metres, travel_on

# Two blocks, every street between two crossings a way of its own:
#   a -0- b -1- c
#   4     5     6
#   d -2- e -3- f
LADDER: dict[str, Grid] = {"a": (0, 1), "b": (1, 1), "c": (2, 1), "d": (0, 0), "e": (1, 0), "f": (2, 0)}
STREETS = [(ends, ROAD) for ends in ("ab", "bc", "de", "ef", "ad", "be", "cf")]
PLAIN = RoadSettings(turn_s=0, sharp_turn_s=0)
BASE, YARD, EAST = (0.9, 1), (0.9, 0), (1.1, 0)
PLACES = {"base": BASE, "yard": YARD, "east": EAST, "beyond": (1.1, 1)}
DIRECT_M = metres(BASE, (1, 1), (1, 0), YARD)
ROUND_M = metres(BASE, (0, 1), (0, 0), YARD)
"""By the western street: the way by the eastern one is longer."""


@pytest.mark.parametrize(("kind", "to"), [("no_u_turn", 2), ("only_left_turn", 3)])
def test_way_back_over_a_street_between_is_driven_round(tmp_path: Path, kind: str, to: int) -> None:
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=[(0, (5,), to, kind)])
    assert graph.meta["skipped"] == {}
    travel = travel_on(graph, PLACES, roads=PLAIN)
    assert drive(travel, "base", "yard")[0] == pytest.approx(ROUND_M, abs=2)
    assert drive(travel, "yard", "base")[0] == pytest.approx(DIRECT_M, abs=2)
    assert drive(travel, "base", "east")[0] == pytest.approx(metres(BASE, (1, 1), (1, 0), EAST), abs=2)
    assert drive(travel, "beyond", "yard")[0] == pytest.approx(metres((1.1, 1), (1, 1), (1, 0), YARD), abs=2)


def test_line_of_a_drive_kept_off_a_way_is_the_way_driven(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=[(0, (5,), 2, "no_u_turn")])
    leg = travel_on(graph, PLACES, roads=PLAIN).leg("T1", "depot:base", "yard:yard")
    west = min(lon for lon, _ in leg.geometry)
    assert west == pytest.approx(-100.80, abs=1e-6)


def test_place_on_the_street_between_is_still_reached(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=[(0, (5,), 2, "no_u_turn")])
    travel = travel_on(graph, {"base": BASE, "mid": (1, 0.5), "yard": YARD}, roads=PLAIN)
    assert drive(travel, "base", "mid")[0] == pytest.approx(metres(BASE, (1, 1), (1, 0.5)), abs=2)
    # A drive that begins there has not come from the forbidden side.
    assert drive(travel, "mid", "yard")[0] == pytest.approx(metres((1, 0.5), (1, 0), YARD), abs=2)


@pytest.mark.parametrize(
    ("between", "over"), [([("bme", ROAD)], (5,)), ([("bm", ROAD), ("me", ROAD)], (5, 6))]
)
def test_street_between_may_have_a_side_road_or_be_two_ways(
    tmp_path: Path, between: list[tuple[str, dict[str, str]]], over: tuple[int, ...]
) -> None:
    points = {**LADDER, "m": (1, 0.5), "x": (1.3, 0.5)}
    streets = [*STREETS[:5], *between, ("cf", ROAD), ("mx", ROAD)]
    graph = made_graph(tmp_path, points, streets, no_turns=[(0, over, 2, "no_u_turn")])
    travel = travel_on(graph, {**PLACES, "side": (1.2, 0.5)}, roads=PLAIN)
    assert drive(travel, "base", "yard")[0] == pytest.approx(ROUND_M, abs=2)
    side_m = metres(BASE, (1, 1), (1, 0.5), (1.2, 0.5))
    assert drive(travel, "base", "side")[0] == pytest.approx(side_m, abs=2)
    assert drive(travel, "side", "yard")[0] == pytest.approx(
        metres((1.2, 0.5), (1, 0.5), (1, 0), YARD), abs=2
    )


def test_private_streets_remember_too(tmp_path: Path) -> None:
    private = {**ROAD, "access": "private"}
    streets = [(ends, private if ends in ("be", "de") else ROAD) for ends, _ in STREETS]
    graph = made_graph(tmp_path, LADDER, streets, no_turns=[(0, (5,), 2, "no_u_turn")])
    travel = travel_on(graph, PLACES, roads=PLAIN)
    assert drive(travel, "base", "yard")[0] == pytest.approx(ROUND_M, abs=2)
    assert drive(travel, "beyond", "yard")[0] == pytest.approx(metres((1.1, 1), (1, 1), (1, 0), YARD), abs=2)


def test_one_way_carriageways_say_which_side_is_meant(tmp_path: Path) -> None:
    # The road that comes and the one that goes back touch both ends of the street between.
    one_way = {**ROAD, "oneway": "yes"}
    points = {"w": (0, 1), "x": (0, 0), "p": (1, 1), "q": (1, 0), "y": (2, 1), "z": (2, 0)}
    ways = [("wp", one_way), ("py", one_way), ("zq", one_way), ("qx", one_way), ("pq", ROAD), ("xw", ROAD)]
    ways += [("yz", ROAD)]
    graph = made_graph(tmp_path, points, ways, no_turns=[(0, (4,), 3, "no_u_turn")])
    travel = travel_on(graph, {"base": (0.5, 1), "yard": (0.5, 0)}, roads=PLAIN)
    round_m = metres((0.5, 1), (2, 1), (2, 0), (0.5, 0))
    assert drive(travel, "base", "yard")[0] == pytest.approx(round_m, abs=2)


@pytest.mark.parametrize(
    "rule", [(0, (3,), 2, "no_u_turn"), (0, (5,), 6, "no_u_turn"), (0, (99,), 2, "no_u_turn")]
)
def test_roads_that_do_not_follow_each_other_are_not_guessed_at(
    tmp_path: Path, rule: tuple[int, tuple[int, ...], int, str]
) -> None:
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=[rule])
    assert len(graph.no_way) == 0
    assert graph.meta["skipped"] == {UNCLEAR: 1}


def test_roads_that_meet_at_both_ends_do_not_say_which_way_is_meant(tmp_path: Path) -> None:
    streets = [("bade", ROAD), ("bcfe", ROAD), ("be", ROAD)]
    graph = made_graph(tmp_path, LADDER, streets, no_turns=[(0, (2,), 1, "no_left_turn")])
    assert len(graph.no_way) == 0
    assert graph.meta["skipped"] == {UNCLEAR: 1}


def test_turn_forbidden_at_hours_is_forbidden_at_all_and_told(tmp_path: Path) -> None:
    rule = (0, "b", 5, "no_right_turn @ (Mo-Fr 07:00-09:00; 16:00-18:00)")
    key = "restriction:conditional"
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=[rule], restriction=key)
    assert drive(travel_on(graph, PLACES, roads=PLAIN), "base", "yard")[0] == pytest.approx(ROUND_M, abs=2)
    assert graph.meta["strict"] == {"turn restriction under a condition, kept at all times": 1}


def test_ways_that_may_not_be_driven_are_kept_in_the_built_file(tmp_path: Path) -> None:
    rules = [(0, (5,), 2, "no_u_turn"), (6, (3, 5), 1, "no_u_turn")]
    graph = made_graph(tmp_path, LADDER, STREETS, no_turns=rules)
    save_graph(graph, tmp_path / "county.roads")
    again = load_graph(tmp_path / "county.roads")
    assert [len(row) for row in np.split(again.no_way, again.no_way_start[1:-1])] == [3, 4]
    assert np.array_equal(graph.no_way, again.no_way)


FROM, VIA, TO = ("from", "w", 1), ("via", "n", 7), ("to", "w", 2)


@pytest.mark.parametrize(
    ("tags", "members", "turns", "skipped"),
    [
        ({"restriction": "no_left_turn"}, [FROM, VIA, TO], [Turn(1, 7, (), 2, False)], ""),
        ({"restriction": "only_straight_on"}, [FROM, VIA, TO], [Turn(1, 7, (), 2, True)], ""),
        ({"restriction:hgv": "no_left_turn"}, [FROM, VIA, TO], [Turn(1, 7, (), 2, False)], ""),
        ({"restriction": "no_left_turn", "except": "bus; hgv"}, [FROM, VIA, TO], [], ""),
        ({"restriction": "no_left_turn", "except": "bus"}, [FROM, VIA, TO], [Turn(1, 7, (), 2, False)], ""),
        ({"restriction": "no_u_turn"}, [FROM, VIA, ("to", "w", 1)], [], ""),
        ({"restriction": "no_exit"}, [FROM, VIA, TO, ("to", "w", 3)],
         [Turn(1, 7, (), 2, False), Turn(1, 7, (), 3, False)], ""),
        ({"restriction": "no_entry"}, [FROM, ("from", "w", 4), VIA, TO],
         [Turn(1, 7, (), 2, False), Turn(4, 7, (), 2, False)], ""),
        ({"restriction": "no_left_turn"}, [FROM, ("from", "w", 4), VIA, TO], [], SEVERAL),
        ({"restriction": "no_left_turn"}, [FROM, TO], [], SEVERAL),
        ({"restriction": "no_left_turn"}, [FROM, VIA, ("via", "w", 5), TO], [], SEVERAL),
        ({"restriction": "give_way"}, [FROM, VIA, TO], [], UNKNOWN),
        ({"restriction:motorcycle": "no_left_turn"}, [FROM, VIA, TO], [], ""),
        ({"restriction": "no_u_turn"}, [FROM, ("via", "w", 5), ("via", "w", 6), TO],
         [Turn(1, 0, (5, 6), 2, False)], ""),
    ],
)  # fmt: skip
def test_what_a_restriction_says_to_a_truck(
    tags: dict[str, str], members: list[tuple[str, str, int]], turns: list[Turn], skipped: str
) -> None:
    judged = turns_of({"type": "restriction", **tags}, members)
    assert (list(judged.turns), judged.skipped) == (turns, skipped)
