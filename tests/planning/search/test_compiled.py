"""The machine code of the search keeps every rule as the plain code does, to the second and the cent."""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from routing.need.ration import need_of_day
from routing.planning.compiled import machine
from routing.planning.compiled import search as compiled
from routing.planning.compiled.routes import BEST, HERE, OUT, TRIAL
from routing.planning.compiled.scratch import LAWFUL, OTHER
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.machine_code import code_folder
from routing.planning.problem.build import build_days
from routing.planning.problem.problem import Problem, Solution, Stops, depot_stop
from routing.planning.problem.stability import Habit
from routing.planning.run import backend as steps
from routing.planning.search import search as plain
from routing.planning.search.budget import Budget
from routing.planning.search.insertion import CURED_BY_REFILL
from routing.planning.search.search import adopt
from tests.support.any_operation import any_operation
from tests.support.hand import scattered
from tests.support.tiny_days import any_kind, make_day

ANYTHING = range(160)
LARGER = range(24)


def routes_of(problem: Problem, seed: int, count: int) -> Iterator[tuple[int, Stops]]:
    """Routes by chance near a sensible plan: most break a rule, many do not."""
    rng, plan = random.Random(seed), adopt(Judge(problem), ((),) * len(problem.trucks)).routes
    for _ in range(count):
        truck = rng.randrange(len(problem.trucks))
        stops = list(plan[truck])
        for _ in range(rng.randrange(4)):
            if stops and rng.random() < 0.4:
                stops.pop(rng.randrange(len(stops)))
            elif rng.random() < 0.4:
                stops.insert(rng.randint(0, len(stops)), depot_stop(rng.randrange(len(problem.depots))))
            else:
                new = [v for v in range(len(problem.visits)) if v not in stops]
                stops[(at := rng.randint(0, len(stops))) : at] = rng.sample(new, min(1, len(new)))
        yield truck, tuple(stops)


def disagreements(problem: Problem, seed: int, count: int = 40) -> list[object]:
    """Where the two judge a route differently."""
    judge, search, found = Judge(problem), compiled.Search(Judge(problem)), []
    for truck, stops in routes_of(problem, seed, count):
        want = judge(truck, stops)
        search.try_route(truck, stops)
        fault = search.run(machine.JUDGE, truck)
        got = search.routes.trucks[TRIAL, truck]
        same = (fault == LAWFUL) == (want.fault is None)
        if want.cost == INFEASIBLE:
            same = same and (want.fault in CURED_BY_REFILL) == (fault != OTHER)
        else:
            drawn = {key: ml for key, ml in want.drawn if ml}
            mine = {key: int(search.scratch.drawn_ml[key]) for key in judge.limited}
            same = same and got["cost"] == pytest.approx(want.cost, rel=1e-9, abs=1e-9)
            same = same and (got["work_s"], got["busy_s"]) == (want.work_s, want.busy_s)
            same = same and drawn == {key: ml for key, ml in mine.items() if ml}
        if not same:
            found.append((truck, stops, want, fault, got))
    return found


@pytest.mark.parametrize("seed", ANYTHING)
def test_a_route_of_a_tiny_day_is_judged_the_same(seed: int) -> None:
    assert disagreements(make_day(any_kind(seed, 6), seed), seed) == []


@pytest.mark.parametrize("seed", LARGER)
def test_a_route_of_any_operation_is_judged_the_same(seed: int) -> None:
    operation, travel, day = any_operation(seed)
    for made in build_days(operation, travel, day, need_of_day(operation, day))[:2]:
        if made.trucks and made.problem.visits:
            assert disagreements(made.problem, seed) == []


@pytest.mark.parametrize("seed", range(20))
def test_what_drivers_were_told_has_the_same_price(seed: int) -> None:
    plain = scattered(12, seed)
    told = adopt(Judge(plain), ((),) * 2).solution().routes
    heading = (frozenset(told[0][:1]), frozenset())
    problem = scattered(12, seed, habit=Habit(told, 3.0, 1.0, heading, 500.0))
    assert disagreements(problem, seed) == []


def improved(problem: Problem, seed: int = 1, steps: int = 400) -> tuple[float, list[tuple[Solution, float]]]:
    told: list[tuple[Solution, float]] = []
    start = compiled.adopt(Judge(problem), ((),) * len(problem.trucks))
    best = compiled.improve(start, seed, Budget(None, steps).phase(1.0), lambda *found: told.append(found))
    assert best.price <= start.price
    return best.price, told


@pytest.mark.parametrize("seed", range(12))
def test_every_plan_told_is_lawful_and_better_than_the_one_before(seed: int) -> None:
    problem = scattered(14, seed, balance_per_s=0.001)
    price, told = improved(problem, seed)
    prices = [p for _, p in told]
    assert prices == sorted(prices, reverse=True)
    assert prices[-1] == price
    for solution, told_price in told:
        again = State(Judge(problem))
        for truck, stops in enumerate(solution.routes):
            assert again.route_cost(truck, stops) < INFEASIBLE
            again.put(truck, stops)
        assert again.price == pytest.approx(told_price)


def test_the_same_seed_gives_the_same_plans() -> None:
    assert improved(scattered(14, 5)) == improved(scattered(14, 5))


def test_another_seed_takes_another_way() -> None:
    assert improved(scattered(14, 5), 1, 60)[1] != improved(scattered(14, 5), 2, 60)[1]


def test_stock_that_two_trucks_share_is_not_drawn_twice() -> None:
    problem = scattered(14, 3)
    for solution, _ in improved(problem)[1]:
        drawn = sum(
            ml
            for k, stops in enumerate(solution.routes)
            for (depot, _), ml in Judge(problem)(k, stops).drawn
            if depot == 1
        )
        assert drawn <= 900_000


def test_where_the_two_disagree_the_plain_code_goes_on_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = scattered(8, 2)
    start = adopt(Judge(problem), ((),) * 2)

    def disagree(*_: object) -> int:
        raise compiled.Disagreement("route of truck 0")

    monkeypatch.setattr(compiled.Search, "run", disagree)
    monkeypatch.setattr(compiled, "troubles", [])
    assert compiled.adopt(Judge(problem), ((),) * 2).routes == start.routes
    phase = Budget(None, 30 * int(compiled.SPEED)).phase(1.0)
    best = compiled.improve(start.copy(), 1, phase, lambda *_: None)
    assert best.price < start.price
    assert phase.taken == phase.most + 1 == 31, "the steps that the plain code takes in the time"
    assert "at odds with the rules" in compiled.troubles[0]


def test_a_plan_that_is_priced_otherwise_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = scattered(8, 2)
    search = compiled.Search(Judge(problem))
    search.begin(adopt(Judge(problem), ((),) * 2).routes, 1)
    search.routes.price[BEST] -= 1.0
    with pytest.raises(compiled.Disagreement, match="price"):
        search.state(BEST)


def test_without_machine_code_the_plain_code_searches(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert steps._choose() is compiled
    monkeypatch.setattr(code_folder, "code_folder", lambda: tmp_path)
    assert steps._choose() is plain
    assert code_folder.can_be_made()
    (tmp_path / "ready").write_text("run.nbc")
    assert steps._choose() is plain, "a file of it was removed"
    (tmp_path / "run.nbc").touch()
    assert steps._choose() is compiled
    monkeypatch.setenv(code_folder.PLAIN, "1")
    assert steps._choose() is plain
    assert not code_folder.can_be_made()


def test_a_compiler_that_does_not_load_costs_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "routing.planning.compiled.search", None)
    monkeypatch.delattr("routing.planning.compiled.search", raising=False)
    monkeypatch.setattr(plain, "troubles", [])
    assert steps._choose() is plain
    assert "did not load" in plain.troubles[0]


def test_a_route_longer_than_there_is_room_for_is_left_to_the_plain_code() -> None:
    problem = scattered(8, 2)
    search = compiled.Search(Judge(problem))
    with pytest.raises(compiled.Disagreement, match="more than there is room for"):
        search.try_route(0, (-1,) * 40)


@pytest.mark.parametrize("seed", range(8))
def test_what_a_route_has_room_for_is_known_as_in_the_plain_code(seed: int) -> None:
    """After hundreds of steps no room, price or truck of a visit is left over from an earlier route."""
    problem = scattered(14, seed)
    judge, search = Judge(problem), compiled.Search(Judge(problem))
    search.begin(adopt(judge, ((),) * 2).routes, seed)
    for _ in range(10):
        search.run(machine.ANNEAL, 40, 20.0, 0.99)
        state, kept = search.state(HERE), search.routes
        assert float(kept.price[HERE]) == pytest.approx(state.price)
        assert {v for v, k in enumerate(kept.truck_of[HERE]) if k == OUT} == state.unserved
        for k, stops in enumerate(state.routes):
            room, places = judge.room(k, stops), kept.points[HERE, k, : len(stops) + 1]
            assert places["room_g"].tolist() == pytest.approx(room.mass_g)
            assert places["load_g"].tolist() == pytest.approx(room.load_g)
            assert places["room_pails"].tolist() == room.pails
            assert places["rank_before"].tolist() == room.rank_before
            assert places["rank_after"].tolist() == room.rank_after
            assert places["hauled_m"].tolist() == room.hauled_m
            for s, free in enumerate(room.bulk_ml):
                assert kept.room_ml[HERE, k, s, : len(stops) + 1].tolist() == free


@pytest.mark.parametrize("seed", range(8))
def test_insertion_finds_the_places_that_the_plain_code_finds(seed: int) -> None:
    problem = scattered(10, seed)
    trucks = tuple(replace(truck, refill_depots=()) for truck in problem.trucks)
    problem = replace(problem, trucks=trucks)
    found, want = (adopt_by(Judge(problem), ((), ())) for adopt_by in (compiled.adopt, adopt))
    assert len(want.unserved) < 10
    assert found.price == pytest.approx(want.price, rel=0.05)
