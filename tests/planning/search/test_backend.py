"""The search as machine code finds what the same text finds as Python; what it tells keeps every rule."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from routing.planning.evaluate.rules.cost import OUT
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.machine_code import code_folder
from routing.planning.problem.problem import Problem, Solution
from routing.planning.search import backend as module
from routing.planning.search import kernel
from routing.planning.search import search as search_module
from routing.planning.search.backend import PYTHON, Backend, select
from routing.planning.search.budget import Budget
from routing.planning.search.routes import BEST, HERE, TRIAL
from routing.planning.search.search import Disagreement, Search, adopt, improve
from tests.support.hand import scattered
from tests.support.searches import searching
from tests.support.tiny_days import any_kind, make_day

TINY = range(0, 160, 4)


def taken(problem: Problem, backend: Backend, seed: int, steps: int) -> tuple[list[object], float]:
    """The routes and the price after so many steps from nothing."""
    search = Search(Judge(problem), backend)
    search.begin(((),) * len(problem.trucks))
    search.run(kernel.SEED, seed)
    search.fill(range(len(problem.visits)), chance=True)
    search.begin([search.route(HERE, k) for k in range(len(problem.trucks))])
    search.run(kernel.ANNEAL, steps, 20.0, 0.95)
    search.run(kernel.SETTLE)
    routes = [search.route(BEST, k) for k in range(len(problem.trucks))]
    return list(routes), float(search.routes.price[BEST])


@pytest.mark.parametrize("seed", TINY)
def test_machine_code_and_python_take_the_same_steps_on_a_tiny_day(seed: int) -> None:
    problem = make_day(any_kind(seed, 6), seed)
    assert taken(problem, select(), seed, 40) == taken(problem, PYTHON, seed, 40)


@pytest.mark.parametrize("seed", range(4))
def test_machine_code_and_python_take_the_same_steps(seed: int) -> None:
    problem = scattered(14, seed, balance_per_s=0.001)
    assert taken(problem, select(), seed, 120) == taken(problem, PYTHON, seed, 120)


def improved(problem: Problem, seed: int = 1, steps: int = 400) -> tuple[float, list[tuple[Solution, float]]]:
    told: list[tuple[Solution, float]] = []
    start = adopt(Judge(problem), ((),) * len(problem.trucks))
    best = improve(start, seed, Budget(None, steps).phase(1.0), lambda *found: told.append(found))
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


def test_where_machine_code_is_at_odds_with_the_rules_python_goes_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = scattered(8, 2)
    start = adopt(Judge(problem), ((),) * 2)

    def wrong(*_: object) -> int:
        raise Disagreement("route of truck 0")

    broken = Backend(wrong, compiled=True)
    monkeypatch.setattr(search_module, "select", lambda: broken)
    assert adopt(Judge(problem), ((),) * 2).routes == start.routes
    phase, troubles = Budget(None, 30 * int(broken.speed)).phase(1.0), []
    best = improve(start.copy(), 1, phase, lambda *_: None, troubles.append)
    assert best.price < start.price
    assert phase.taken == phase.most == 30, "the steps that Python takes in the time"
    assert "at odds with the rules" in troubles[0]


def test_a_plan_that_is_priced_otherwise_is_not_told() -> None:
    problem = scattered(8, 2)
    search = searching(adopt(Judge(problem), ((),) * 2))
    search.routes.price[BEST] -= 1.0
    with pytest.raises(Disagreement, match="price"):
        search.state(BEST)


def test_without_machine_code_python_searches(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert module._choose().compiled
    monkeypatch.setattr(code_folder, "code_folder", lambda: tmp_path)
    assert module._choose() is PYTHON
    assert code_folder.can_be_made()
    tmp_path.chmod(0o700)
    (tmp_path / "ready").write_text("run.nbc")
    assert module._choose() is PYTHON, "a file of it was removed"
    (tmp_path / "run.nbc").touch()
    assert code_folder.ready()
    monkeypatch.setenv(code_folder.PLAIN, "1")
    assert module._choose() is PYTHON
    assert not code_folder.can_be_made()


def test_a_compiler_that_does_not_load_costs_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "routing.planning.machine_code.jit", None)
    found = module._choose()
    assert not found.compiled
    assert "failed to load" in found.trouble


def test_a_route_longer_than_the_hours_allow_finds_room() -> None:
    problem = scattered(8, 2)
    long = (0, *((-1,) * 200))
    assert 0 in adopt(Judge(problem), (long, ())).routes[0]


@pytest.mark.parametrize("seed", range(8))
def test_nothing_is_left_over_from_an_earlier_route(seed: int) -> None:
    """After hundreds of steps slack, price and trucks of visits are those of routes put there afresh."""
    problem = scattered(14, seed)
    judge = Judge(problem)
    search = Search(judge, select())
    search.begin(adopt(judge, ((),) * 2).routes)
    search.run(kernel.SEED, seed)
    for _ in range(10):
        search.run(kernel.ANNEAL, 40, 20.0, 0.99)
        state, kept = search.state(HERE), search.routes
        fresh = searching(state).routes
        assert {v for v, k in enumerate(kept.truck_of[HERE]) if k == OUT} == state.unserved
        for k, stops in enumerate(state.routes):
            for i in range(len(stops) + 1):
                for name in kept.slack.dtype.names:
                    assert kept.slack[HERE][k][i][name] == getattr(fresh.slack[HERE][k][i], name)
                assert kept.free_ml[HERE][k][0][i] == fresh.free_ml[HERE][k][0][i]
            assert kept.drawn_ml[HERE][k].tolist() == fresh.drawn_ml[HERE][k]
        assert kept.used_ml[HERE].tolist() == fresh.used_ml[HERE]
        assert kept.used_ml[TRIAL].tolist() == fresh.used_ml[HERE]
