"""What a route uses and costs, worked out by hand."""

from __future__ import annotations

import pytest

from routing.planning.evaluate.route_cost import account, leg_fuel_l
from routing.planning.evaluate.schedule import time_route
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Supply
from tests.support.hand import HOME, HOUR, along, depot, pails, truck, visit

# 20 L/100 km empty; 30 L/100 km with 4 t aboard.
THIRSTY = {"fuel_empty": 0.0002, "fuel_per_g": 0.0001 / 4_000_000, "fuel_price": 1.5}


def test_fuel_is_linear_in_what_is_aboard() -> None:
    problem = along([0], [], [truck(**THIRSTY)])
    assert leg_fuel_l(problem, 0, 100_000, 4_000_000) == pytest.approx(20.0)
    assert leg_fuel_l(problem, 0, 100_000, 6_000_000) == pytest.approx(25.0)
    assert leg_fuel_l(problem, 0, 100_000, 8_000_000) == pytest.approx(30.0)


def test_the_heavy_way_out_costs_more_than_the_light_way_home() -> None:
    problem = along([0, 100], [visit(1, 800.0)], [truck(per_m=0.0005, fixed=40.0, **THIRSTY)])
    money = account(problem, 0, (0,))
    assert money.fuel_l == pytest.approx(20.0 + 2.5 + 20.0)  # 1,000 kg out, nothing home
    assert money.fuel == pytest.approx(42.5 * 1.5)
    assert money.vehicle == pytest.approx(200_000 * 0.0005 + 40.0)
    assert money.total == pytest.approx(63.75 + 140.0)


def test_near_yards_first_is_dearer_when_the_load_is_carried_to_the_far_ones() -> None:
    problem = along([0, 50, 100], [visit(1, 700.0), visit(2, 100.0)], [truck(per_m=0.0, **THIRSTY)])
    judge = Judge(problem)
    assert judge(0, (0, 1)).cost < judge(0, (1, 0)).cost


def test_overtime_is_paid_on_top_of_the_hours() -> None:
    paid = truck(per_s=44 / HOUR, overtime_per_s=22 / HOUR, ordinary_s=2 * HOUR, overtime_s=HOUR)
    problem = along([0, 60], [visit(1, handling_s=1700)], [paid])
    money = account(problem, 0, (0,))
    assert money.overtime_s == 1800
    assert money.labor == pytest.approx(2.5 * 44 + 0.5 * 22)


def test_waits_and_breaks_are_paid_as_work() -> None:
    gates = [visit(1, windows=((8 * HOUR, 8 * HOUR),)), visit(1, windows=((10 * HOUR, 11 * HOUR),))]
    paid = truck(earliest_s=6 * HOUR, per_s=1.0, break_s=1800, break_after_s=3 * HOUR)
    problem = along([0, 60], gates, [paid])
    timing = time_route(problem, 0, (0, 1))
    assert account(problem, 0, (0, 1)).labor == timing.work_s == 4 * HOUR + 200


def test_the_engine_idles_while_it_pumps_and_at_no_other_stand() -> None:
    slow = depot(setup_s=100, supplies=(Supply(500.0),), wash=True)
    yards = [
        visit(1, 100.0, setup_s=300, handling_s=700, rank=1),
        pails(1, 2, setup_s=300, handling_s=200),
        visit(1, 50.0, handling_s=60),
    ]
    problem = along([0, 30], yards, [truck(pail_slots=4, idle_l_per_s=0.001)], [slow], wash_s=1800)
    stops = (0, HOME, 1, 2)
    first, second = 100 + 200, 100 + 100 + 40  # of the second loading 1,800 s of washing do not count
    assert account(problem, 0, stops).fuel_l == pytest.approx(0.001 * (first + 1000 + second + 60))


def test_an_idle_truck_costs_nothing() -> None:
    problem = along([0, 30], [visit(1)], [truck(fixed=99.0)])
    assert account(problem, 0, ()).total == 0.0
    assert Judge(problem)(0, ()).cost == 0.0


def test_what_is_left_costs_its_value_and_a_starving_yard_more_than_any_plan() -> None:
    problem = along([0, 30], [visit(1, value=80.0), visit(1, value=20.0, required=True)])
    state = State(Judge(problem))
    assert state.objective == 100.0
    assert state.price > 1000 * 0.001 * 60


def test_unequal_shifts_have_their_price_once_two_trucks_drive() -> None:
    problem = along([0, 30, 60], [visit(1, 0.0), visit(2, 0.0)], [truck(), truck()], balance_per_s=0.01)
    state = State(Judge(problem))
    state.put(0, (1,))
    alone = state.objective
    assert alone == pytest.approx(120.0 + 1000.0)
    state.put(1, (0,))
    assert state.objective == pytest.approx(120.0 + 60.0 + 0.01 * HOUR)
