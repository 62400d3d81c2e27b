"""A solution written out as a plan: every stop, amount, minute and sum of money, by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from routing.audit import audit
from routing.domain.clock import TimeWindow
from routing.domain.fleet import Tank
from routing.domain.operation import Operation
from routing.domain.places import Health, Stock
from routing.domain.plan import Engine, Plan, Stop
from routing.domain.ration import YardNeed
from routing.domain.settings import CostSettings, FeedingSettings, ShiftSettings
from routing.planning.plan.assemble import write_plan
from routing.planning.plan.reasons import unserved_yards
from routing.planning.plan.words import worded
from routing.planning.problem.build import build_days
from routing.planning.problem.problem import Solution, Stops
from routing.travel.straight.straight import straight_travel
from tests.support.hand import FIELD, HOME
from tests.support.trade import DAY, HOUR, depots, dose, need, operation, truck, yard


def written(op: Operation, needs: list[YardNeed], *routes: Stops, on: date = DAY) -> Plan:
    """The plan of given routes; what no route visits is left."""
    day = build_days(op, straight_travel(op), on, needs)[0]
    visited = {s for route in routes for s in route}
    left = tuple(v for v in range(len(day.problem.visits)) if v not in visited)
    found = Solution(routes, left, 0.0)
    plan = write_plan(day, found, unserved_yards(day, found), Engine("by hand", "1", None, 1), 1)
    return worded(op, needs, plan)


BY_HAND = ("days_stated", "dose", "left_short", "reason_of_bees")


def faults(op: Operation, plan: Plan) -> list[Any]:
    """What the audit finds, but for needs set by hand that the inspections do not bear out."""
    return [f for f in audit(op, straight_travel(op), plan).findings if f.code not in BY_HAND]


def kinds(plan: Plan) -> list[str]:
    return [stop.kind for stop in plan.routes[0].stops]


def of_kind(plan: Plan, kind: str) -> list[Stop]:
    return [stop for route in plan.routes for stop in route.stops if stop.kind == kind]


def test_a_round_is_start_yards_and_end_with_amounts_at_each() -> None:
    op = operation([yard("A"), yard("B", km=20.0)])
    plan = written(op, [need("A"), need("B")], (0, 1))
    assert kinds(plan) == ["start", "yard", "yard", "end"]
    start, first, second, end = plan.routes[0].stops
    assert [(f.tank_id, f.syrup_id, f.volume_l) for f in start.fill] == [("A", "S67", 600.0)]
    assert [(p.colonies, p.volume_l, p.tank_id) for p in first.pour] == [(40, 300.0, "A")]
    assert first.after.tanks["A"].volume_l == 300.0
    assert second.after.tanks["A"].syrup_id is None
    density = op.syrups["S67"].density_kg_per_l
    assert density is not None
    assert start.after.gross_kg == pytest.approx(4000.0 + 600 * density, abs=0.01)
    assert end.after.gross_kg == pytest.approx(4000.0)
    assert faults(op, plan) == []


def test_times_follow_from_loading_driving_and_work() -> None:
    op = operation([yard("A")])
    start, stop, end = written(op, [need("A")], (0,)).routes[0].stops
    assert (start.leave - start.begin).total_seconds() == 300 + 150  # 300 L at 2 L/s
    assert stop.arrive - start.leave == timedelta(seconds=stop.leg.drive_s)
    assert (stop.leave - stop.begin).total_seconds() == 600 + 40 * 45
    assert end.arrive - stop.leave == timedelta(seconds=end.leg.drive_s)
    assert start.begin.isoformat() == "2026-09-28T06:00:00-05:00"


def test_a_refill_break_and_wash_are_stops_of_their_own() -> None:
    base = depots(wash_down=True)
    op = operation(
        [yard("A", health=Health.WATCH), yard("B", km=12.0)], depots=base,
        shift=ShiftSettings(window=TimeWindow(6 * HOUR, 20 * HOUR), break_after_s=2 * HOUR),
    )  # fmt: skip
    plan = written(op, [need("A"), need("B")], (0, HOME, 1))
    assert "wash" in kinds(plan)
    assert kinds(plan).index("wash") == kinds(plan).index("refill") + 1
    (wash,) = of_kind(plan, "wash")
    assert (wash.leave - wash.begin).total_seconds() == op.work.wash_s
    assert (wash.leg.distance_m, wash.leg.drive_s) == (0, 0)
    for rest in of_kind(plan, "break"):
        assert (rest.leave - rest.begin).total_seconds() == op.shift.break_s
    assert faults(op, plan) == []


def test_a_wash_with_nothing_loaded_is_one_stop() -> None:
    base = depots(wash_down=True)
    laden = truck(tanks=(Tank("A", 1000.0, level_l=800.0),))
    op = operation([yard("A", health=Health.WATCH), yard("B", km=12.0)], [laden], depots=base)
    plan = written(op, [need("A"), need("B")], (0, HOME, 1))
    assert kinds(plan) == ["start", "yard", "wash", "yard", "end"]
    assert faults(op, plan) == []


def test_a_laden_truck_that_fills_nothing_starts_at_once() -> None:
    laden = truck(tanks=(Tank("A", 1000.0, level_l=400.0),))
    op = operation([yard("A")], [laden])
    plan = written(op, [need("A")], (0,))
    start = plan.routes[0].stops[0]
    assert start.fill == ()
    assert start.begin == start.leave
    assert plan.routes[0].stops[-1].after.tanks["A"].volume_l == pytest.approx(100.0)
    assert faults(op, plan) == []


def test_pails_go_out_full_and_come_back_empty() -> None:
    op = operation([yard("A")])
    pail = dose(8, feeder_id="pail2", swapped=True)
    start, stop, _ = written(op, [need("A", pail)], (0,)).routes[0].stops
    assert [(f.tank_id, f.pails, f.volume_l) for f in start.fill] == [(None, 8, 60.0)]
    assert [(p.tank_id, p.pails, p.colonies) for p in stop.pour] == [(None, 8, 8)]
    assert (start.after.pails_full, stop.after.pails_full, stop.after.pails_empty) == (8, 0, 8)


def test_two_syrups_come_from_their_own_tanks() -> None:
    two = truck(tanks=(Tank("A", 500.0), Tank("B", 500.0, "HF55")))
    op = operation([yard("A")], [two])
    needs = [need("A", dose(30), dose(20, "HF55", group="sweet"))]
    stop = of_kind(written(op, needs, (0,)), "yard")[0]
    assert [(p.syrup_id, p.tank_id, p.volume_l) for p in stop.pour] == [
        ("S67", "A", 225.0),
        ("HF55", "B", 150.0),
    ]


def test_money_adds_up_and_syrup_left_counts_as_unserved() -> None:
    cost = CostSettings(20.0, 30.0, 1.5, 0.6, drop_value_per_colony=40.0, loss_per_colony=0.0)
    op = operation([yard("A"), yard("B", km=20.0)], [truck(fixed_cost=50.0)], cost=cost)
    plan = written(op, [need("A"), need("B")], (0,))
    totals, money = plan.totals, plan.totals.cost
    assert money.labor == pytest.approx(totals.work_s / 3600 * 20.0 * 2)
    assert money.fuel == pytest.approx(totals.fuel_l * 1.5)
    assert money.vehicle == pytest.approx(totals.distance_m / 1000 * 0.6 + 50.0)
    assert money.syrup == pytest.approx(300.0)
    parts = totals.objective.parts
    assert parts["unserved"] == pytest.approx(40 * 40.0 + 300.0)
    assert totals.objective.total == pytest.approx(money.total + 1900.0)
    assert (totals.served_yards, totals.served_colonies, totals.volume_l) == (1, 40, 300.0)
    assert totals.co2_kg == pytest.approx(totals.fuel_l * cost.co2_kg_per_l)


def test_fuel_of_a_leg_is_by_what_is_aboard_on_it() -> None:
    op = operation([yard("A", km=50.0)])
    _, there, home = written(op, [need("A")], (0,)).routes[0].stops
    kg = 300 * (op.syrups["S67"].density_kg_per_l or 0.0)
    km = there.leg.distance_m / 1000
    assert there.leg.fuel_l == pytest.approx(km * (0.2 + 0.1 * kg / 4000.0), abs=1e-5)
    assert home.leg.fuel_l == pytest.approx(km * 0.2, abs=1e-5)


def test_unequal_shifts_are_priced_when_two_trucks_drive() -> None:
    cost = CostSettings(balance_per_h=15.0)
    op = operation([yard("A"), yard("B", km=40.0)], [truck("T1"), truck("T2")], cost=cost)
    plan = written(op, [need("A"), need("B")], (0,), (1,))
    work = sorted(route.totals.work_s for route in plan.routes)
    assert plan.totals.objective.parts["balance"] == pytest.approx(15.0 * (work[1] - work[0]) / 3600)
    assert written(op, [need("A"), need("B")], (0,), ()).totals.objective.parts["balance"] == 0.0
    assert faults(op, plan) == []


def test_a_yard_in_two_visits_is_one_yard_served_and_says_so() -> None:
    op = operation([yard("A")], [truck(tanks=(Tank("A", 160.0),))])
    plan = written(op, [need("A")], (0, HOME, 1))
    assert plan.totals.served_yards == 1
    assert plan.totals.served_colonies == 40
    assert all(any("part of this yard" in n for n in stop.notes) for stop in of_kind(plan, "yard"))
    half = written(op, [need("A")], (0,))
    assert half.totals.served_yards == 0
    assert [(u.yard_id, u.colonies) for u in half.unserved] == [("A", 19)]


def test_the_margin_is_loaded_and_comes_home() -> None:
    op = operation([yard("A")], feeding=FeedingSettings(syrup_id="S67", margin=0.1))
    plan = written(op, [need("A")], (0,))
    assert plan.routes[0].stops[0].fill[0].volume_l == pytest.approx(330.0)
    assert plan.routes[0].stops[-1].after.tanks["A"].volume_l == pytest.approx(30.0)
    assert faults(op, plan) == []


def test_a_night_plan_has_the_dates_of_both_days() -> None:
    night = ShiftSettings(window=TimeWindow(21 * HOUR, 29 * HOUR))
    op = operation([yard("A", windows=(TimeWindow(0, 3 * HOUR),))], shift=night)
    plan = written(op, [need("A")], (0,))
    (stop,) = of_kind(plan, "yard")
    assert stop.begin.isoformat() == "2026-09-29T00:00:00-05:00"
    assert plan.routes[0].start.date() == DAY
    assert faults(op, plan) == []


def test_over_the_change_of_clocks_hours_are_those_that_pass() -> None:
    night = ShiftSettings(window=TimeWindow(0, 8 * HOUR))
    op = operation([yard("A", km=60.0)], shift=night)
    autumn = date(2026, 11, 1)
    fed = written(op, [need("A")], (0,), on=autumn)
    start, end = fed.routes[0].start, fed.routes[0].end
    assert (start.utcoffset(), end.utcoffset()) == (timedelta(hours=-5), timedelta(hours=-6))
    assert fed.routes[0].totals.work_s == end.timestamp() - start.timestamp()


def test_a_stop_knows_the_starving() -> None:
    op = operation([yard("A"), yard("B", km=20.0)])
    plan = written(op, [need("A", starving=True), need("B")], (0, 1))
    assert [stop.starving for stop in of_kind(plan, "yard")] == [True, False]


def test_a_field_tank_is_named_and_only_its_syrup_taken_there() -> None:
    short = depots(stock=(Stock("BASE", "S67", None, 2.0),))
    op = operation([yard("A"), yard("B", km=25.0)], [truck(tanks=(Tank("A", 400.0),))], depots=short)
    plan = written(op, [need("A"), need("B")], (0, FIELD, 1))
    (refill,) = of_kind(plan, "refill")
    assert refill.place_id == "FIELD"
    assert [(f.syrup_id, f.volume_l) for f in refill.fill] == [("S67", 300.0)]
    assert faults(op, plan) == []


def test_times_are_aware_and_whole() -> None:
    plan = written(operation([yard("A")]), [need("A")], (0,))
    moments: list[datetime] = [m for s in plan.routes[0].stops for m in (s.arrive, s.begin, s.leave)]
    assert all(m.tzinfo is not None and not m.microsecond for m in moments)
    assert plan.plan_id == ""
    assert replace(plan.audit, checks=()).passed is False


def test_where_a_tank_runs_out_in_a_yard_every_colony_gets_its_whole_dose_from_one_tank() -> None:
    twice = truck(tanks=(Tank("A", 100.0), Tank("B", 100.0)))
    op = operation([yard("A")], [twice])
    plan = written(op, [need("A", dose(colonies=24))], (0,))
    (stop,) = of_kind(plan, "yard")
    assert [(p.tank_id, p.colonies, p.volume_l) for p in stop.pour] == [("B", 11, 82.5), ("A", 13, 97.5)]
    assert stop.after.tanks["B"].volume_l == 5.0
    assert faults(op, plan) == []
