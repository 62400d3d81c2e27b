"""Circuity measured on a road graph, for an operation that still drives on straight lines."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from routing.domain.settings import TravelSettings
from routing.travel.choose import travel_for
from routing.travel.graph.file import save_graph
from tests.support.osm_xml import Grid
from tests.support.road_maps import ROAD, made_graph, metres, operation_at

# One road with a right angle in it: the places lie along both arms.
POINTS: dict[str, Grid] = {"a": (0, 6), "b": (0, 0), "c": (8, 0)}
PLACES: dict[str, Grid] = {"base": (0, 6), "n": (0, 3), "m": (0, 1), "e": (3, 0), "f": (6, 0), "g": (8, 0)}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    save_graph(made_graph(tmp_path, POINTS, [("abc", ROAD)]), tmp_path / "county.roads")
    return tmp_path


STRAIGHT = TravelSettings(extract="county.roads")


def _expected() -> float:
    """Along the road over the straight line, by hand."""
    along = {
        name: (6 - y) * metres((0, 0), (0, 1)) + x * metres((0, 0), (1, 0)) for name, (x, y) in PLACES.items()
    }
    pairs = [(a, b) for a in PLACES for b in PLACES if a < b]
    road_m = sum(abs(along[a] - along[b]) for a, b in pairs)
    return road_m / sum(metres(PLACES[a], PLACES[b]) for a, b in pairs)


def test_circuity_is_measured_where_nobody_typed_one(folder: Path) -> None:
    travel = travel_for(operation_at(PLACES, travel=STRAIGHT), folder)
    assert travel.provenance.estimated
    assert f"straight lines x {_expected():.2f}".rstrip("0") in travel.provenance.note
    assert "measured on county.roads between 6 of 6 places" in travel.provenance.note


def test_circuity_that_was_measured_is_what_the_day_rests_on(folder: Path) -> None:
    (name, measured), *others = travel_for(operation_at(PLACES, travel=STRAIGHT), folder).measured.items()
    assert (name, others) == ("travel.circuity", [])
    assert measured.value == pytest.approx(_expected(), abs=0.006)
    assert measured.source == "measured on county.roads between 6 of 6 places"
    assert not travel_for(operation_at(PLACES), folder).measured


def test_circuity_that_was_typed_stands(folder: Path) -> None:
    typed = replace(
        operation_at(PLACES, travel=replace(STRAIGHT, circuity=1.9)), given=frozenset({"travel.circuity"})
    )
    note = travel_for(typed, folder).provenance.note
    assert "x 1.9 " in note
    assert "measured on" not in note


def test_places_off_the_graph_do_not_count_and_too_few_prove_nothing(folder: Path) -> None:
    some = {**PLACES, "far": (60.0, 60.0)}
    assert "between 6 of 7 places" in travel_for(operation_at(some, travel=STRAIGHT), folder).provenance.note
    few = {name: PLACES[name] for name in ("base", "e", "g")}
    assert "x 1.4 " in travel_for(operation_at(few, travel=STRAIGHT), folder).provenance.note


def test_graph_that_is_not_there_is_no_matter_for_straight_lines(tmp_path: Path) -> None:
    assert "x 1.4 " in travel_for(operation_at(PLACES, travel=STRAIGHT), tmp_path).provenance.note
