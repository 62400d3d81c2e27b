"""Room on a route: nothing lawful is ruled out, and the guess is the price where nothing waits."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.problem.problem import Problem, depot_stop
from routing.planning.search.search import adopt
from tests.support.hand import along, truck, visit
from tests.support.searches import places_of
from tests.support.tiny_days import any_kind, make_day


def some_state(problem: Problem, seed: int) -> State:
    """Chance routes put under the rules, some visits taken out again."""
    rng = random.Random(seed)
    order = rng.sample(range(6), 6)
    calls = [depot_stop(rng.randrange(len(problem.depots))) for _ in problem.trucks]
    routes: list[list[int]] = [[] for _ in problem.trucks]
    for v in order:
        routes[rng.randrange(len(routes))].append(v)
    state = adopt(Judge(problem), tuple((*r[:2], c, *r[2:]) for r, c in zip(routes, calls, strict=True)))
    for v in order[:3]:
        for k, stops in enumerate(state.routes):
            shorter = tuple(s for s in stops if s != v)
            if v in stops and state.route_cost(k, shorter) < INFEASIBLE:
                state.put(k, shorter)
    return state


def some_day(seed: int) -> Problem:
    """A tiny day; every other one has begun: trucks under way, tired, laden, with pails and a rank."""
    problem, rng = make_day(any_kind(seed, 6), seed), random.Random(-seed)
    if seed % 2:
        return problem
    pails = tuple(
        max((v.pails[s] for v in problem.visits if v.pails), default=0)
        for s in range(len(problem.density_g_ml))
    )
    each = tuple(max((v.pail_ml[s] for v in problem.visits if v.pails), default=0) for s in range(len(pails)))
    trucks = []
    for t in problem.trucks:
        racked = sum(pails) <= t.pail_slots and rng.random() < 0.5
        trucks.append(
            replace(
                t, on_the_clock=rng.random() < 0.7, tired_s=rng.randrange(0, 3600),
                rank=rng.choice((0, 0, 1)),
                level_ml=tuple(rng.choice((0, c // 2, c)) for c in t.capacity_ml),
                pails_aboard=pails if racked else (), pail_ml_aboard=each if racked else (),
            )
        )  # fmt: skip
    return replace(problem, trucks=tuple(trucks))


def lawful_places(state: State) -> list[tuple[int, int, int, int]]:
    """Where visits left out may go by the exact rules: visit, truck, place, seconds of work then."""
    found = []
    for v in sorted(state.unserved):
        for k in state.problem.eligible_trucks[v]:
            route = state.routes[k]
            for at in range(len(route) + 1):
                judged = state.judge(k, (*route[:at], v, *route[at:]))
                if judged.cost < INFEASIBLE:
                    found.append((v, k, at, judged.work_s))
    return found


def check(state: State) -> int:
    """No lawful place is ruled out; gives how many there were."""
    lawful = lawful_places(state)
    for v, k, at, _ in lawful:
        fitting = {p.at for p in places_of(state, k, v) if p.fits}
        assert at in fitting, (v, k, at)
    return len(lawful)


@pytest.mark.parametrize("first", range(0, 200, 20))
def test_no_lawful_place_is_ruled_out(first: int) -> None:
    """The room of a trip, the hours and the order of health are necessary, whatever else a day holds."""
    assert sum(check(some_state(some_day(seed), seed)) for seed in range(first, first + 20)) > 20


@pytest.mark.parametrize("first", range(0, 120, 20))
def test_no_lawful_place_is_ruled_out_where_it_takes_the_last_second(first: int) -> None:
    checked = 0
    for seed in range(first, first + 20):
        state = some_state(some_day(seed), seed)
        for v, k, at, work_s in lawful_places(state)[:4]:
            trucks = list(state.problem.trucks)
            trucks[k] = replace(
                trucks[k],
                ordinary_s=min(work_s, trucks[k].ordinary_s),
                overtime_s=max(0, work_s - trucks[k].ordinary_s),
            )
            tight = State(Judge(replace(state.problem, trucks=tuple(trucks))))
            route = state.routes[k]
            if tight.route_cost(k, route) < INFEASIBLE:
                tight.put(k, route)
                with_it = tight.judge(k, (*route[:at], v, *route[at:])).cost < INFEASIBLE
                assert not with_it or at in {p.at for p in places_of(tight, k, v) if p.fits}, (
                    seed,
                    v,
                    k,
                    at,
                )
                checked += with_it
    assert checked > 10


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
    for place in places_of(state, 0, 3):
        exact = state.judge(0, (*route[: place.at], 3, *route[place.at :])).cost - base
        assert place.guess == pytest.approx(exact, rel=0.01)
