"""A problem in the routing engine's terms and back: what it may not break, and what it may."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest

from routing.planning.engines.pyvrp_engine import find_routes
from routing.planning.engines.pyvrp_model import BARRED, HORIZON_S, Model, Routes
from routing.planning.evaluate.state import Judge
from routing.planning.problem.problem import Problem, Supply, Visit
from routing.planning.search.search import adopt
from tests.support.hand import FIELD, HOME, HOUR, along, depot, pails, scattered, truck, visit


def found(problem: Problem, iterations: int = 40) -> Routes:
    count = iter(range(10**9))
    return find_routes(problem, 1, lambda _: next(count) >= iterations, lambda routes: None)


def test_a_round_with_a_refill_comes_back_as_stops() -> None:
    problem = along([0, 30, 40], [visit(1, 700.0), visit(2, 800.0)])
    (route,) = found(problem)
    assert sorted(s for s in route if s >= 0) == [0, 1]
    assert route.count(HOME) == 1
    assert route[1] == HOME


def test_the_refill_is_at_the_depot_on_the_way() -> None:
    problem = along(
        [0, 50, 60, 55],
        [visit(1, 900.0), visit(2, 900.0)],
        [truck(refill_depots=(0, 1))],
        [depot(), depot(3)],
    )
    assert FIELD in found(problem)[0]


def test_of_several_gates_one_is_taken() -> None:
    gates = ((0, HOUR), (5 * HOUR, 6 * HOUR))
    problem = along([0, 120], [visit(1, windows=gates)], [truck(earliest_s=0)])
    assert found(problem) == ((0,),)
    assert len(Model(problem).data.clients()) == 2


def test_access_rules_hold() -> None:
    yards = [visit(1, trucks=frozenset({1})), visit(2, trucks=frozenset({0}))]
    assert found(along([0, 30, 40], yards, [truck(), truck(fixed=0.1)])) == ((1,), (0,))


def test_weight_binds_where_the_tanks_would_hold_more() -> None:
    light = truck(gross_g=4_000_000 + 700_000, refill_depots=())
    routes = found(along([0, 30], [visit(1, 300.0), visit(1, 300.0)], [light, light]))
    assert sorted(routes) == [(0,), (1,)]


def test_pails_bind_by_their_number() -> None:
    rack = truck(pail_slots=5, refill_depots=())
    problem = along([0, 30], [pails(1, 3), pails(1, 3)], [rack, rack], pail_g=900)
    assert sorted(found(problem)) == [(0,), (1,)]


def test_the_order_of_health_holds_through_refills_and_a_wash_lets_it_fall() -> None:
    yards = [visit(1, 600.0, rank=2), visit(2, 600.0), visit(3, 600.0)]
    problem = along([0, 10, 20, 30], yards, [truck(earliest_s=0, latest_s=20 * HOUR)])
    (route,) = found(problem, 80)
    state = adopt(Judge(problem), (route,))
    assert not state.unserved
    assert [s for s in route if s >= 0][-1] == 0
    assert len(Model(problem).depots) == 1 + 2  # a plain copy, and one for each rank that a truck may keep


def test_a_truck_whose_tanks_the_start_cannot_fill_goes_to_another_depot_first() -> None:
    dry = depot(supplies=(None,))
    problem = along([0, 30, 20], [visit(1)], [truck(refill_depots=(1,))], [dry, depot(2)])
    assert adopt(Judge(problem), found(problem)).routes == [(FIELD, 0)]


def test_yards_not_worth_the_drive_are_left() -> None:
    assert found(along([0, 60, 5], [visit(1, value=50.0), visit(2, value=50.0)])) == ((1,),)


def test_starving_yards_are_worth_any_drive() -> None:
    yards = [visit(1, value=50.0, required=True), visit(2, value=500.0)]
    assert sorted(found(along([0, 60, 5], yards))[0]) == [0, 1]


def test_like_trucks_share_one_type_and_each_gets_its_own_route() -> None:
    day = truck(ordinary_s=2 * HOUR)
    problem = along([0, 50, -50], [visit(1), visit(2)], [day, replace(day, name="B")])
    assert len(Model(problem).data.vehicle_types()) == 1
    assert sorted(found(problem)) == [(0,), (1,)]


@pytest.mark.parametrize(
    "shut",
    [
        ((22 * HOUR, 23 * HOUR),),
        ((0, HOUR),),
        (),
    ],
)
def test_a_depot_that_is_shut_all_shift_makes_no_error(shut: tuple[tuple[int, int], ...]) -> None:
    crew = truck(earliest_s=6 * HOUR, latest_s=20 * HOUR)
    other = truck(start=1, end=1, earliest_s=6 * HOUR, latest_s=20 * HOUR)
    problem = along([0, 30, 5], [visit(1)], [crew, other], [depot(windows=shut), depot(2)])
    assert adopt(Judge(problem), found(problem)).routes == [(), (0,)]


def test_breaks_longer_than_the_shift_make_no_error() -> None:
    crews = [
        truck(earliest_s=6 * HOUR, latest_s=8 * HOUR, break_s=1800, break_after_s=900, ordinary_s=2 * HOUR),
        truck(earliest_s=0, latest_s=20 * HOUR),
    ]
    problem = along([0, 30], [visit(1)], crews)
    assert adopt(Judge(problem), found(problem)).routes == [(), (0,)]


def test_a_gate_that_never_opens_is_never_passed() -> None:
    problem = along([0, 30], [visit(1, windows=()), visit(1)], [truck(earliest_s=0, latest_s=9 * HOUR)])
    model = Model(problem)
    assert model.data.clients()[0].tw_early == HORIZON_S
    assert adopt(Judge(problem), found(problem)).unserved == {0}


@pytest.mark.parametrize("seed", range(6))
def test_whatever_the_engine_answers_becomes_a_plan_that_keeps_every_rule(seed: int) -> None:
    problem = scattered(16, seed)
    state = adopt(Judge(problem), found(problem))
    bare = adopt(Judge(problem), ((), ()))
    assert state.price < float("inf")
    assert len(state.unserved) + sum(s >= 0 for r in state.routes for s in r) == 16
    assert min(state.price, bare.price) == pytest.approx(min(state.price, bare.price))
    for k, stops in enumerate(state.routes):
        assert state.route_cost(k, stops) < float("inf")


def test_all_required_may_end_without_an_answer_and_without_an_error() -> None:
    yards = [visit(1, handling_s=HOUR, required=True) for _ in range(4)]
    problem = along([0, 30], yards, [truck(ordinary_s=2 * HOUR + 300)])
    told: list[Routes] = []
    count = iter(range(10**9))
    routes = find_routes(problem, 1, lambda _: next(count) >= 30, told.append)
    assert told == []
    assert len(adopt(Judge(problem), routes).unserved) < 4


def test_two_syrups_have_their_own_tanks_in_the_engine() -> None:
    both = depot(supplies=(Supply(1000.0), Supply(1000.0)))
    split = truck(capacity_ml=(300_000, 200_000), level_ml=(0, 0), refill_depots=())
    yards = [Visit(1, (200_000, 0), 1e4), Visit(1, (0, 150_000), 1e4), Visit(1, (0, 150_000), 1e4)]
    problem = along([0, 30], yards, [split, split], [both], density_g_ml=(1.3, 1.4))
    assert sorted(len(r) for r in found(problem)) == [1, 2]


def test_importing_the_engine_prints_nothing() -> None:
    code = (
        "import logging, routing.planning.engines.pyvrp_engine; logging.getLogger('pyvrp').warning('a word')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == ""


def test_a_yard_closed_to_a_truck_is_as_far_as_can_be_for_it_and_as_near_as_ever_for_others() -> None:
    yards = [visit(1, trucks=frozenset({1})), visit(2)]
    problem = along([0, 30, 40], yards, [truck(per_m=0.00105), truck(per_m=0.00105)])
    model = Model(problem)
    closed, opened = (model.data.distance_matrix(model.data.vehicle_type(k).profile) for k in (0, 1))
    at = 1 + model.clients.index(0)
    assert (closed[0, at], closed[at, 0], closed[at, at]) == (BARRED, BARRED, 0)
    assert opened[0, at] == round(30_000 * 0.00105 / problem.money_step)
    other = 1 + model.clients.index(1)
    assert closed[0, other] == opened[0, other] < BARRED


def test_a_yard_that_no_truck_may_enter_is_left_and_the_others_are_fed() -> None:
    problem = along([0, 30, 40], [visit(1, trucks=frozenset()), visit(2)], [truck()])
    state = adopt(Judge(problem), found(problem))
    assert (state.routes, state.unserved) == ([(1,)], {0})


def test_few_small_units_far_apart_are_loaded_within_the_limits() -> None:
    """One unit too many saves a drive of a hundred thousand kilometres: the price of it must pass that."""
    km = [0.0, *(100_000.0 + i for i in range(6))]
    small = truck(capacity_ml=(2,), per_m=1.0, gross_g=10**12, refill_depots=())
    yards = [visit(i + 1, 0.001, required=True) for i in range(6)]
    routes = found(along(km, yards, [small] * 3, money_step=1.0), 300)
    assert [len(route) for route in routes] == [2, 2, 2]


def test_prices_in_whole_steps_need_one_table_of_drives() -> None:
    yards = [visit(1), visit(2)]
    unlike = [truck(per_m=2.0), truck(per_m=3.0)]
    whole = Model(along([0, 30, 40], yards, unlike, money_step=1.0))
    assert whole.data.num_profiles == 1
    assert [kind.unit_distance_cost for kind in whole.data.vehicle_types()] == [2, 3]
    parts = Model(along([0, 30, 40], yards, [truck(per_m=2.0), truck(per_m=2.5)], money_step=1.0))
    assert parts.data.num_profiles == 2
    assert [kind.unit_distance_cost for kind in parts.data.vehicle_types()] == [1, 1]


def test_where_leaving_everything_is_cheapest_nobody_goes_out() -> None:
    yards = [visit(i + 1, value=1.0) for i in range(8)]
    problem = along([0, *(500 + 40 * i for i in range(8))], yards, [truck(), truck()])
    assert found(problem, 1) == ((), ())
