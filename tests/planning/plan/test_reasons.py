"""Each yard left has the reason that is true, and a remedy a person can act on."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from routing.domain.clock import TimeWindow
from routing.domain.errors import NoPlanError
from routing.domain.fleet import PailLoad, Tank, Truck, Underway
from routing.domain.operation import Operation
from routing.domain.places import Depot, Health, Position, Stock
from routing.domain.plan import Plan, Unserved
from routing.domain.ration import ReasonCode, YardNeed
from routing.domain.settings import CostSettings, ShiftSettings
from routing.planning.plan.reasons import WORDS
from routing.travel.straight.straight import straight_travel
from tests.support.any_day import plan_here
from tests.support.trade import DAY, HOUR, depots, dose, need, operation, truck, yard

PAILS = dose(8, feeder_id="pail2", swapped=True)


def planned(op: Operation, *needs: YardNeed, **more: Any) -> Plan:
    return plan_here(op, straight_travel(op), DAY, needs=needs, **more)


def left(op: Operation, *needs: YardNeed) -> dict[str, Unserved]:
    return {u.yard_id: u for u in planned(op, *needs).unserved}


def code(op: Operation, *needs: YardNeed, yard_id: str = "A") -> str:
    return left(op, *needs)[yard_id].reason_code


def test_need_s_own_refusal_is_passed_on_with_its_words() -> None:
    refused = replace(
        need("A"), doses=(), reason_code=ReasonCode.SUPERS_ON, reason="supers are on", remedy="take them off"
    )
    found = left(operation([yard("A")]), refused)["A"]
    assert (found.reason_code, found.reason, found.remedy) == ("supers_on", "supers are on", "take them off")
    assert (found.colonies, found.volume_l, found.syrup_cost) == (0, 0.0, 0.0)


def test_no_truck_that_fits_the_gate() -> None:
    assert code(operation([yard("A", max_length_m=6.0)]), need("A")) == "no_truck_fits"
    assert code(operation([yard("A", max_gross_kg=3900.0)]), need("A")) == "no_truck_fits"
    # The empty truck could cross the bridge, but not with syrup for a single colony.
    assert code(operation([yard("A", max_gross_kg=4005.0)]), need("A")) == "no_truck_fits"


def test_no_tank_for_the_syrup() -> None:
    kept = truck(tanks=(Tank("A", 1000.0, "S67"),))
    assert code(operation([yard("A")], [kept]), need("A", dose(syrup_id="HF55"))) == "no_tank_for_syrup"
    both = left(operation([yard("A"), yard("B")], [kept]), need("A"), need("B", dose(syrup_id="HF55")))
    assert both["B"].reason_code == "no_tank_for_syrup"


def test_no_slots_for_pails() -> None:
    assert code(operation([yard("A")], [truck(pail_slots=0)]), need("A", PAILS)) == "no_pail_slots"


def test_gate_hours_that_leave_no_time() -> None:
    early = yard("A", km=100.0, windows=(TimeWindow(5 * HOUR, 7 * HOUR),))
    assert code(operation([early]), need("A")) == "out_of_hours"
    brief = yard("A", windows=(TimeWindow(9 * HOUR, 9 * HOUR + 300),))
    assert code(operation([brief]), need("A")) == "out_of_hours"


def test_a_yard_too_far_for_any_shift() -> None:
    far = yard("A", km=300.0)
    assert code(operation([far]), need("A")) == "beyond_shift"
    short = ShiftSettings(max_driving_s=HOUR)
    assert code(operation([yard("A", km=60.0)], shift=short), need("A")) == "beyond_shift"


def test_stock_short_of_one_yard_s_need_or_spent_on_others() -> None:
    dry = depots(stock=(Stock("BASE", "S67", 100.0, 2.0),))
    dry["FIELD"] = replace(dry["FIELD"], stock=())
    assert code(operation([yard("A")], depots=dry), need("A")) == "stock_short"
    some = depots(stock=(Stock("BASE", "S67", 400.0, 2.0),))
    some["FIELD"] = replace(some["FIELD"], stock=())
    found = left(operation([yard("A"), yard("B")], depots=some), need("A"), need("B"))
    assert [u.reason_code for u in found.values()] == ["stock_short"]


def in_mid_day(**more: Any) -> Truck:
    """A truck at the field tank at noon, whose crew has worked nine hours."""
    state = Underway(from_s=12 * HOUR, worked_s=9 * HOUR, **more)
    return truck(start_depot="FIELD", underway=state, tanks=(Tank("A", 1000.0, level_l=100.0),))


def hours(left_h: float) -> ShiftSettings:
    """A shift with so many hours left for a crew that has worked nine."""
    return ShiftSettings(max_s=round((9 + left_h) * HOUR), overtime_s=0, break_s=0)


def test_a_rack_that_is_full_of_pails_for_other_yards_is_no_want_of_syrup() -> None:
    laden = in_mid_day(pails=(PailLoad("S67", 10, 75.0),))
    ten, other = replace(PAILS, colonies=10), replace(PAILS, syrup_id="HF55")
    op = operation([yard("A", km=18.0), yard("B", km=19.0)], [laden], shift=hours(2.35))
    # The base has pails of the other syrup, for a rack that is empty by then: the hours are too few.
    assert code(op, need("A", other), need("B", ten)) == "shift_full"
    assert left(replace(op, shift=hours(4.0)), need("A", other), need("B", ten)) == {}
    # A rack full of pails that nobody wants has no room, with nothing else to do.
    alone = replace(op, yards={"A": op.yards["A"]}, groups=op.groups[:1], shift=hours(4.0))
    assert code(alone, need("A", other)) == "no_pail_slots"


def test_pails_that_no_base_can_fill_any_more_are_the_reason_whatever_other_depots_hold() -> None:
    closed = depots(stock=())
    found = left(operation([yard("A", km=18.0)], [in_mid_day()], depots=closed), need("A", PAILS))["A"]
    assert found.reason_code == "no_full_pails"
    assert "filled at a base alone" in found.reason
    short = depots(stock=(Stock("BASE", "S67", 40.0, 2.0),))
    assert code(operation([yard("A")], depots=short), need("A", PAILS)) == "no_full_pails"
    spent = depots(stock=(Stock("BASE", "S67", 100.0, 2.0),))
    both = left(operation([yard("A"), yard("B")], depots=spent), need("A", PAILS), need("B", PAILS))
    assert [u.reason_code for u in both.values()] == ["no_full_pails"]
    nowhere = depots(stock=())
    nowhere["FIELD"] = replace(nowhere["FIELD"], stock=())
    assert code(operation([yard("A")], depots=nowhere), need("A", PAILS)) == "stock_short"


def test_syrup_that_is_aboard_is_not_short_because_the_depots_are_empty() -> None:
    dry = depots(stock=())
    dry["FIELD"] = replace(dry["FIELD"], stock=())
    laden = truck(
        start_depot="FIELD",
        underway=Underway(from_s=12 * HOUR, worked_s=9 * HOUR),
        tanks=(Tank("A", 1000.0, level_l=900.0),),
    )
    yards = [yard("A", km=18.0), yard("B", km=19.0), yard("C", km=17.0)]
    op = operation(yards, [laden], depots=dry, shift=hours(1.5))
    found = left(op, need("A"), need("B"), need("C"))
    assert found
    assert {u.reason_code for u in found.values()} == {"shift_full"}


def test_full_shifts_and_what_is_not_worth_the_drive() -> None:
    busy = ShiftSettings(max_s=2 * HOUR, overtime_s=0)
    yards = [yard("A", km=1.0), yard("B", km=2.0), yard("C", km=3.0)]
    found = left(operation(yards, shift=busy), need("A"), need("B"), need("C"))
    assert {u.reason_code for u in found.values()} == {"shift_full"}
    cheap = CostSettings(drop_value_per_colony=0.1)
    assert code(operation([yard("A", km=60.0)], cost=cheap), need("A")) == "not_worth"


def test_starving_yards_crowd_out_only_each_other_and_loudly() -> None:
    busy = ShiftSettings(max_s=2 * HOUR, overtime_s=0)
    yards = [yard("A", km=1.0), yard("B", km=2.0), yard("C", km=3.0)]
    plan = planned(operation(yards, shift=busy), *(need(y.yard_id, starving=True) for y in yards))
    assert {u.reason_code for u in plan.unserved} == {"no_room"}
    loud = {w.place_id for w in plan.warnings if w.code == "starving_unserved"}
    assert loud == {u.yard_id for u in plan.unserved}


def test_a_starving_yard_takes_the_place_of_one_that_is_not() -> None:
    busy = ShiftSettings(max_s=2 * HOUR, overtime_s=0)
    yards = [yard("A", km=1.0), yard("B", km=2.0), yard("C", km=15.0)]
    found = left(operation(yards, shift=busy), need("A"), need("B"), need("C", starving=True))
    assert "C" not in found


def test_a_truck_from_a_worse_yard_with_no_wash_in_reach() -> None:
    state = Underway(from_s=9 * HOUR, rank=Health.QUARANTINE.rank)
    op = operation([yard("A")], [truck(underway=state, tanks=(Tank("A", 1000.0, level_l=500.0),))])
    assert code(op, need("A")) == "unclean_truck"
    washed = replace(op, depots=depots(wash_down=True))
    assert left(washed, need("A")) == {}


def test_what_is_left_of_a_yard_says_how_many_colonies_and_what_their_syrup_costs() -> None:
    rackless = truck(pail_slots=0)
    found = left(operation([yard("A")], [rackless]), need("A", dose(30), PAILS))["A"]
    assert found.reason.startswith("8 of 38 colonies are left: ")
    assert (found.colonies, found.volume_l, found.syrup_cost) == (8, 60.0, pytest.approx(60.0))


def test_every_reason_of_planning_has_words_and_a_remedy() -> None:
    codes = list(ReasonCode)
    own = set(codes[codes.index(ReasonCode.OUT_OF_HOURS) :])
    assert set(WORDS) == own
    for reason, remedy in WORDS.values():
        assert len(reason) > 20
        assert len(remedy) > 20


def test_no_truck_on_the_date_is_no_plan() -> None:
    away = truck(available=(DAY + timedelta(days=1),))
    with pytest.raises(NoPlanError, match="no truck is available on 2026-09-28"):
        planned(operation([yard("A")], [away]), need("A"))


def test_the_one_far_depot_with_the_syrup_is_thought_of_among_many() -> None:
    """Twenty tanks on the way hold another syrup: the drive is too dear, not the stock too short."""
    near = depots(stock=(Stock("BASE", "S67", None, 2.0),))
    for i in range(20):
        place = Position(44.0 + (i + 1) / 111.1, -100.0)
        stock = (Stock(f"T{i}", "S67", None, 1.0),)
        near[f"T{i}"] = Depot(f"T{i}", f"Tank {i}", place, setup_s=300, stock=stock)
    cheap = CostSettings(drop_value_per_colony=0.1)
    wanted = need("A", dose(syrup_id="HF55"))
    assert code(operation([yard("A")], depots=near, cost=cheap), wanted) == "stock_short"
    far = Depot("FAR", "Far", Position(44.5, -100.0), stock=(Stock("FAR", "HF55", None, 1.0),))
    kept = operation([yard("A")], depots={**near, "FAR": far}, cost=cheap)
    assert code(kept, wanted) == "not_worth"
