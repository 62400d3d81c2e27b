"""Room on a route: nothing lawful is ruled out, and the guess is the price where nothing waits."""

from __future__ import annotations

import random

import pytest

from routing.planning.insertion import _places_of
from routing.planning.problem import depot_stop
from routing.planning.search import adopt
from routing.planning.state import INFEASIBLE, Judge, State
from tests.planning.hand import along, truck, visit
from tests.planning.tiny_days import any_kind, make_day


def some_state(seed: int) -> State:
    """A tiny day with chance routes put under the rules, some visits taken out again."""
    problem, rng = make_day(any_kind(seed, 6), seed), random.Random(seed)
    order = rng.sample(range(6), 6)
    calls = [depot_stop(rng.randrange(len(problem.depots))) for _ in problem.trucks]
    routes = [[] for _ in problem.trucks]
    for v in order:
        routes[rng.randrange(len(routes))].append(v)
    state = adopt(Judge(problem), tuple((*r[:2], c, *r[2:]) for r, c in zip(routes, calls, strict=True)))
    for v in order[:3]:
        for k, stops in enumerate(state.routes):
            shorter = tuple(s for s in stops if s != v)
            if v in stops and state.route_cost(k, shorter) < INFEASIBLE:
                state.put(k, shorter)
    return state


@pytest.mark.parametrize("first", range(0, 200, 20))
def test_no_lawful_place_is_ruled_out(first: int) -> None:
    """The room of a trip, the hours and the order of health are necessary, whatever else a day holds."""
    lawful = 0
    for seed in range(first, first + 20):
        state = some_state(seed)
        for visit_ in sorted(state.unserved):
            for k in state.problem.eligible_trucks[visit_]:
                places = {p.at: p for p in _places_of(state, k, visit_)}
                route = state.routes[k]
                for at in range(len(route) + 1):
                    if state.judge(k, (*route[:at], visit_, *route[at:])).cost < INFEASIBLE:
                        lawful += 1
                        assert at in places, (seed, visit_, k, at)
                        assert places[at].fits, (seed, visit_, k, at)
    assert lawful > 20


def test_the_guess_is_the_price_by_way_wages_overtime_and_fuel_by_load() -> None:
    """With no windows and loads that fill at one rate the exact price can be foretold to the cent."""
    crew = truck(
        per_m=0.001, per_s=0.01, ordinary_s=9000, overtime_s=20_000, overtime_per_s=0.02,
        fuel_price=1.5, fuel_empty=3e-4, fuel_per_g=2e-10,
    )  # fmt: skip
    problem = along([0, 10, 25, 40, 18], [visit(i + 1, 300, handling_s=900) for i in range(4)], [crew])
    state = adopt(Judge(problem), ((0, 1, 2),))
    base = state.judge(0, state.routes[0]).cost
    route = tuple(s for s in state.routes[0] if s != 3)
    state.put(0, route)
    base = state.judge(0, route).cost
    for place in _places_of(state, 0, 3):
        exact = state.judge(0, (*route[: place.at], 3, *route[place.at :])).cost - base
        assert place.guess == pytest.approx(exact, rel=0.01)
