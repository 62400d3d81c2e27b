"""Putting visits where they cost least, mending what breaks a rule, and never making a plan worse."""

from __future__ import annotations

import random
from itertools import permutations

import pytest

from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.problem.problem import Problem, Solution, Supply, Visit
from routing.planning.search.search import adopt
from tests.support.hand import FIELD, HOME, HOUR, along, depot, scattered, truck, visit
from tests.support.searches import improved_by, move_refills, tidy_route


def started(problem: Problem, *routes: tuple[int, ...]) -> State:
    return adopt(Judge(problem), routes or ((),) * len(problem.trucks))


def improved(problem: Problem, steps: int = 60, seed: int = 1) -> tuple[State, list[tuple[Solution, float]]]:
    told: list[tuple[Solution, float]] = []
    best = improved_by(started(problem), steps, seed, lambda found, price: told.append((found, price)))
    return best, told


def test_a_visit_goes_where_the_detour_is_least() -> None:
    problem = along([0, 30, 60, 40], [visit(1), visit(2), visit(3)])
    state = started(problem, (0, 1))
    assert state.routes[0] in ((0, 2, 1), (0, 1, 2), (1, 2, 0), (2, 1, 0))
    assert state.objective == pytest.approx(120.0)


def test_a_refill_is_called_at_when_the_tank_is_too_small_for_all() -> None:
    problem = along([0, 30, 40], [visit(1, 700.0), visit(2, 800.0)])
    state = started(problem)
    assert not state.unserved
    assert sum(stop == HOME for stop in state.routes[0]) == 1


def test_a_visit_that_costs_more_than_it_is_worth_stays_out_unless_bees_starve() -> None:
    dear = visit(1, value=50.0)
    assert started(along([0, 60], [dear])).unserved == {0}
    starving = visit(1, value=50.0, required=True)
    assert started(along([0, 60], [starving])).unserved == set()


def test_starving_yards_are_put_in_before_all_others() -> None:
    day = truck(ordinary_s=2 * HOUR + 300)
    problem = along([0, 60, -60], [visit(1, value=10**6), visit(2, value=1.0, required=True)], [day])
    assert started(problem).routes[0] == (1,)


def test_of_two_like_trucks_the_first_idle_one_is_taken() -> None:
    problem = along([0, 30], [visit(1)], [truck(name="A"), truck(name="B")])
    assert problem.identical_trucks == (0, 0)
    assert started(problem).routes == [(0,), ()]


def test_a_dedicated_yard_makes_like_trucks_unlike() -> None:
    problem = along([0, 30], [visit(1, trucks=frozenset({1}))], [truck(), truck()])
    assert problem.identical_trucks == (0, 1)
    assert started(problem).routes == [(), (0,)]


def test_routes_that_break_rules_are_mended_by_leaving_what_is_worth_least() -> None:
    yards = [visit(1, handling_s=HOUR, value=v) for v in (300.0, 200.0, 900.0)]
    problem = along([0, 30], yards, [truck(ordinary_s=3 * HOUR + 300)])
    state = started(problem, (0, 1, 2))
    assert state.unserved == {1}


def test_a_call_that_spares_the_stock_of_others_is_kept_where_routes_are_taken_over() -> None:
    """Without its call the first truck would take at home what the second needs: its yard would be left."""
    stocked = depot(supplies=(Supply(1000.0, 1_200_000),))
    crews = [truck(refill_depots=(0, 1)), truck(refill_depots=(0, 1))]
    yards = [visit(1, 500.0), visit(2, 500.0), visit(3, 700.0)]
    problem = along([0, 10, 20, -30, 10.1], yards, crews, [stocked, depot(4)])
    routes = ((0, FIELD, 1), (2,))
    state = adopt(Judge(problem), routes)
    assert state.routes == list(routes)
    assert not state.unserved


def test_calls_at_depots_that_give_nothing_are_left_out() -> None:
    problem = along([0, 30, 40], [visit(1), visit(2)], depots=[depot(), depot(1)])
    state = State(Judge(problem))
    assert tidy_route(state, 0, (0, HOME, 1, HOME)) == (0, 1)
    assert tidy_route(state, 0, (HOME, FIELD)) == ()


def test_a_trip_is_turned_round_when_that_is_cheaper() -> None:
    thirsty = truck(fuel_price=1.0, fuel_empty=0.0, fuel_per_g=1e-9)
    problem = along([0, 10, 60], [visit(1, 900.0), visit(2, 50.0)], [thirsty])
    assert tidy_route(State(Judge(problem)), 0, (1, 0)) == (0, 1)


def test_a_refill_moves_to_the_depot_on_the_way() -> None:
    problem = along(
        [0, 50, 60, 55],
        [visit(1, 900.0), visit(2, 900.0)],
        [truck(refill_depots=(0, 1))],
        [depot(), depot(3)],
    )
    state = State(Judge(problem))
    state.put(0, (0, HOME, 1))
    move_refills(state, 0)
    assert state.routes[0] == (0, FIELD, 1)


@pytest.mark.parametrize("seed", range(4))
def test_the_search_tells_ever_better_plans_and_ends_with_the_last(seed: int) -> None:
    problem = scattered(12, seed)
    best, told = improved(problem)
    prices = [price for _, price in told]
    assert prices == sorted(prices, reverse=True)
    assert best.price == pytest.approx(prices[-1])
    assert best.solution() == told[-1][0]


@pytest.mark.parametrize("seed", range(4))
def test_every_plan_told_keeps_every_rule_and_adds_up(seed: int) -> None:
    problem = scattered(12, seed)
    for solution, price in improved(problem)[1]:
        fresh = State(Judge(problem))
        for k, stops in enumerate(solution.routes):
            assert fresh.route_cost(k, stops) < INFEASIBLE
            fresh.put(k, stops)
        assert tuple(sorted(fresh.unserved)) == solution.unserved
        assert fresh.objective == pytest.approx(solution.objective)
        assert fresh.price == pytest.approx(price)
        for (d, s), limit in fresh.judge.limited.items():
            assert fresh.used[d, s] <= limit


def test_the_same_seed_finds_the_same_plan() -> None:
    problem = scattered(14, 9)
    assert improved(problem)[0].solution() == improved(problem)[0].solution()


def _cheapest(problem: Problem) -> float:
    """The best price of one truck's day over every choice, order and place of one refill at most."""
    judge, best = Judge(problem), INFEASIBLE
    visits = range(len(problem.visits))
    for count in range(len(problem.visits) + 1):
        for order in permutations(visits, count):
            for at in range(count + 1):
                for call in ((), (HOME,)):
                    state = State(judge)
                    stops = (*order[:at], *call, *order[at:])
                    if (call and not stops[len(order) :]) or state.route_cost(0, stops) == INFEASIBLE:
                        continue
                    state.put(0, stops)
                    best = min(best, state.price)
    return best


@pytest.mark.parametrize("seed", range(3))
def test_a_small_day_is_solved_to_the_best_of_all_orders(seed: int) -> None:
    rng = random.Random(seed)
    yards: list[Visit] = [
        visit(
            i + 1, rng.randint(200, 450), value=rng.choice((30.0, 300.0)), handling_s=600,
            windows=((0, rng.randint(2, 6) * HOUR),), rank=rng.choice((0, 1)),
        )
        for i in range(5)
    ]  # fmt: skip
    crew = truck(earliest_s=0, ordinary_s=5 * HOUR, per_s=0.005, fuel_price=1.0, fuel_per_g=1e-10)
    problem = along(
        [0, *(rng.uniform(-60, 60) for _ in range(5))], yards, [crew], [depot(wash=True)], wash_s=600
    )
    assert improved(problem, 120)[0].price == pytest.approx(_cheapest(problem))


def test_a_day_without_visits_is_left_as_it_is() -> None:
    problem = along([0], [])
    assert improved_by(State(Judge(problem)), 1).routes == [()]
