"""An operation: its places, and the numbers a plan rests on."""

from __future__ import annotations

from datetime import date

from routing.domain.clock import TimeWindow
from routing.domain.operation import place_key
from routing.domain.places import ColonyGroup, Position, Stores
from routing.domain.settings import FeedingSettings, ShiftSettings
from tests.support.samples import depot, operation, truck, yard

SECTIONS = {"cost", "shift", "travel", "feeding", "uptake", "keeping", "work", "yards", "feeders"}


def _group(yard_id: str, name: str) -> ColonyGroup:
    return ColonyGroup(yard_id, name, date(2026, 9, 20), 20, "frame2", 8.0, Stores(stores_kg=15.0), "two")


def test_yard_and_depot_of_one_id_are_two_places() -> None:
    places = operation([yard("HOME", 46.9)], [depot("HOME", 46.8)]).positions()
    assert places == {
        place_key("depot", "HOME"): Position(46.8, -100.8),
        place_key("yard", "HOME"): Position(46.9, -100.9),
    }


def test_places_keep_the_order_of_the_files_depots_first() -> None:
    places = operation([yard("Z"), yard("A")], [depot("D2"), depot("D1")]).positions()
    assert list(places) == ["depot:D2", "depot:D1", "yard:Z", "yard:A"]


def test_groups_of_a_yard_are_its_own() -> None:
    op = operation(
        [yard("A"), yard("B")], groups=[_group("A", "strong"), _group("B", "all"), _group("A", "weak")]
    )
    assert [group.group for group in op.groups_of("A")] == ["strong", "weak"]
    assert op.groups_of("C") == ()


def test_truck_works_its_own_shift_else_that_of_the_operation() -> None:
    night = TimeWindow(21 * 3600, 29 * 3600)
    op = operation(trucks=[truck("T1"), truck("T2", shift=night)])
    assert op.shift_of(op.trucks["T1"]) == op.shift.window
    assert op.shift_of(op.trucks["T2"]) == night


def test_clock_runs_in_the_time_zone_of_the_operation() -> None:
    clock = operation(timezone="Europe/Berlin").clock(date(2026, 9, 28))
    assert clock.at(0).isoformat() == "2026-09-28T00:00:00+02:00"


def test_every_number_a_plan_rests_on_has_a_unit_and_a_source() -> None:
    found = operation().assumptions()
    assert {key.partition(".")[0] for key in found} == SECTIONS
    for key, assumption in found.items():
        assert assumption.unit, key
        assert assumption.source, key


def test_what_was_typed_says_so_and_what_was_not_keeps_its_source() -> None:
    op = operation(feeding=FeedingSettings(conversion=0.9), given=frozenset({"feeding.conversion"}))
    found = op.assumptions()
    assert (found["feeding.conversion"].value, found["feeding.conversion"].source) == (
        0.9,
        "given in operation.toml",
    )
    assert "USDA" in found["feeding.target_stores_kg"].source
    assert "EPA" in found["cost.co2_kg_per_l"].source


def test_shift_window_is_shown_as_two_numbers() -> None:
    op = operation(shift=ShiftSettings(window=TimeWindow(5 * 3600, 19 * 3600)))
    assert op.assumptions()["shift.window"].value == [18000, 68400]
