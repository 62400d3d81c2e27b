"""What one truck could do for one yard alone is worked out as on paper, and never promises too much."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routing.audit.evidence.book import Book
from routing.audit.evidence.lone_trip import able_trucks, carries, hours_suffice, lone_cost, trip_s, wanted
from routing.audit.evidence.replay import open_book
from routing.domain.fleet import Truck
from routing.domain.places import Yard
from tests.audit.mangle import edit_item, edit_settings
from tests.support.builders import Case, small_case

CASE = small_case()
LEG_M, LEG_S = 46_335, 3_033
"""Home Shop to Far Butte in the small case: 35.6 km as the crow flies, times 1.3."""


def parts(case: Case = CASE) -> tuple[Book, Truck, Yard]:
    return open_book(*case), case.operation.trucks["BIG"], case.operation.yards["Y9"]


def changed(mapping: str, key: str, **changes: object) -> Case:
    return CASE._replace(operation=edit_item(CASE.operation, mapping, key, **changes))


def test_what_is_left_is_36_colonies_with_270_litres_and_45_s_each() -> None:
    book, _, _ = parts()
    want = wanted(book, next(left for left in book.plan.unserved if left.yard_id == "Y9"))
    assert (want.pumped, want.in_pails, want.pails, want.late) == ({"S67": 270.0}, {}, 0, False)
    assert want.hands_s == 36 * 45.0
    assert want.by_syrup == {"S67": 270.0}


def test_a_trip_is_loading_driving_out_feeding_and_driving_back() -> None:
    book, big, yard = parts()
    want = wanted(book, book.plan.unserved[-1])
    # 300 s to set up and 270 L at 2 L/s at the shop; 600 s to set up, then 36 colonies at 45 s.
    assert trip_s(book, big, yard, want) == (2 * LEG_S, 300 + 135 + 2 * LEG_S + 600 + 1620)
    slow = replace(big, pump_l_per_s=0.1)
    assert trip_s(book, slow, yard, want) == (2 * LEG_S, 300 + 135 + 2 * LEG_S + 600 + 2700)


def test_a_trip_costs_wages_fuel_wear_and_the_truck() -> None:
    book, big, yard = parts()
    want = wanted(book, book.plan.unserved[-1])
    hours, km = 8721 / 3600, 2 * LEG_M / 1000
    fuel_l = km * 0.33 + hours * 3.18
    by_hand = hours * 33.0 * 2 + fuel_l * 1.06 + km * 0.55 + 40.0
    assert lone_cost(book, big, yard, want) == pytest.approx(by_hand)


def test_a_climb_costs_the_fuel_that_lifts_the_truck() -> None:
    case = small_case()
    climb = case.travel.matrix.distance_m * 0
    out, home = case.travel.index("depot:BASE"), case.travel.index("yard:Y9")
    climb[out, home], climb[home, out] = 300, 100
    travel = replace(case.travel, matrix=replace(case.travel.matrix, climb_m=climb))
    flat, hilly = parts(case), parts(case._replace(travel=travel))
    want = wanted(flat[0], flat[0].plan.unserved[-1])
    roads = case.operation.roads
    litres = 8845.0 * 9.80665 * 400 / (roads.climb_efficiency * roads.fuel_mj_per_l * 1e6)
    assert lone_cost(*hilly, want) - lone_cost(*flat, want) == pytest.approx(litres * 1.06)


def test_tanks_payload_bridge_and_rack_bound_what_a_truck_carries() -> None:
    book, big, yard = parts()
    want = wanted(book, book.plan.unserved[-1])
    assert carries(book, big, yard, want)
    assert not carries(book, book.operation.trucks["SMALL"], yard, want)  # no tank kept for this syrup
    laden_kg = 5080.0 + 270.0 * 1.32675
    assert carries(book, replace(big, gvwr_kg=laden_kg + 0.01), yard, want)
    assert not carries(book, replace(big, gvwr_kg=laden_kg - 0.01), yard, want)
    assert not carries(book, big, replace(yard, max_gross_kg=laden_kg - 0.01), want)
    assert carries(book, big, replace(yard, max_gross_kg=laden_kg + 0.01), want)
    tanks = (replace(big.tanks[0], capacity_l=269.9), big.tanks[1])
    assert not carries(book, replace(big, tanks=tanks), yard, want)
    aboard = (big.tanks[0], replace(big.tanks[1], level_l=100.0))
    assert not carries(book, replace(big, tanks=aboard, gvwr_kg=laden_kg + 138.2), yard, want)
    assert carries(book, replace(big, tanks=aboard, gvwr_kg=laden_kg + 138.4), yard, want)
    pails = replace(want, pumped={}, in_pails={"S67": 270.0}, pails=24)
    assert carries(book, big, yard, pails)
    assert not carries(book, big, yard, replace(pails, pails=25))


@pytest.mark.parametrize(
    ("changes", "fits"),
    [
        ({"max_s": 8721, "overtime_s": 0}, True),
        ({"max_s": 8720, "overtime_s": 0}, False),
        ({"max_s": 8720, "overtime_s": 1}, True),
        ({"break_after_s": 8720}, False),
        ({"max_driving_s": 6066}, True),
        ({"max_driving_s": 6065}, False),
        ({"window": replace(CASE.operation.shift.window, start_s=0, end_s=8721)}, True),
        ({"window": replace(CASE.operation.shift.window, start_s=0, end_s=8720)}, False),
    ],
)
def test_hours_driving_break_and_shift_bound_a_trip(changes: dict[str, object], fits: bool) -> None:
    case = CASE._replace(operation=edit_settings(CASE.operation, "shift", **changes))
    book, big, yard = parts(case)
    assert hours_suffice(book, big, yard, wanted(book, book.plan.unserved[-1])) is fits


@pytest.mark.parametrize(
    ("on_hand_l", "from_s", "base", "loads"),
    [(270.0, 0, True, True), (269.0, 0, True, False), (None, 0, True, True), (None, 1, True, False)],
)
def test_no_trip_without_syrup_where_it_starts(
    on_hand_l: float | None, from_s: int, base: bool, loads: bool
) -> None:
    shop = CASE.operation.depots["BASE"]
    stock = (replace(shop.stock[0], on_hand_l=on_hand_l, from_s=from_s), shop.stock[1])
    book, big, yard = parts(changed("depots", "BASE", stock=stock, base=base))
    want = wanted(book, book.plan.unserved[-1])
    assert (trip_s(book, big, yard, want) is not None) is loads
    assert (lone_cost(book, big, yard, want) < float("inf")) is loads
    assert hours_suffice(book, big, yard, want) is loads


def test_pails_are_loaded_at_a_base_alone_and_one_by_one() -> None:
    book, big, yard = parts()
    want = replace(wanted(book, book.plan.unserved[-1]), pumped={}, in_pails={"S67": 270.0}, pails=24)
    assert trip_s(book, big, yard, want) == (2 * LEG_S, 300 + 135 + 24 * 10 + 2 * LEG_S + 600 + 1620)
    book, big, yard = parts(changed("depots", "BASE", base=False))
    assert trip_s(book, big, yard, want) is None


def test_only_trucks_that_the_plan_may_send_and_the_track_takes_are_able() -> None:
    book, _, yard = parts()

    def able(yard: Yard) -> list[str]:
        return [truck.truck_id for truck in able_trucks(book, yard)]

    assert able(yard) == ["BIG", "SMALL"]
    assert able(replace(yard, trucks=("SMALL",))) == ["SMALL"]
    assert able(replace(yard, max_length_m=8.5)) == ["BIG", "SMALL"]
    assert able(replace(yard, max_length_m=8.4)) == ["SMALL"]
    assert able(replace(yard, max_gross_kg=5080.0)) == ["BIG", "SMALL"]
    assert able(replace(yard, max_gross_kg=5079.0)) == ["SMALL"]
    book.plan = replace(book.plan, trucks=("BIG",))
    assert able(yard) == ["BIG"]
