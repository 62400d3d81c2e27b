"""The lower bound: never above the cheapest plan there is, and told early."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import fields

import pytest

from routing.planning.bound import lower_bound
from routing.planning.problem import Problem
from tests.planning.tiny_days import Kind, best_price, make_day

INF = float("inf")


def _counted(calls: int) -> Callable[[], float]:
    """Progress that is done after so many calls."""
    count = 0

    def progress() -> float:
        nonlocal count
        count += 1
        return (count - 1) / calls

    return progress


def _bounds(problem: Problem, upper: float = INF, calls: int = 60) -> list[float]:
    """Every bound that is told, and the last."""
    told: list[float] = []
    last = lower_bound(problem, upper, _counted(calls), told.append)
    assert told[-1] == last
    return told


def _any_kind(seed: int) -> Kind:
    """A tiny day with any mixture of what a day may hold."""
    rng = random.Random(seed)
    flags = {f.name: rng.random() < 0.4 for f in fields(Kind) if f.type == "bool"}
    flags["breaks"] = flags["breaks"] and not flags["driving_breaks"]
    return Kind(
        rng.choice((2, 3, 3)), rng.choice((1, 2)), rng.choice((1, 2, 2)), rng.choice((1, 1, 2)), **flags
    )


@pytest.mark.parametrize("seed", range(32))
def test_no_bound_is_above_the_cheapest_of_all_plans(seed: int) -> None:
    problem = make_day(_any_kind(seed), seed)
    best = best_price(problem)
    for upper in (INF, best):
        told = _bounds(problem, upper)
        assert told == sorted(told)
        assert told[-1] <= best + 1e-9 * abs(best)


def test_a_bound_is_told_before_any_time_is_spent() -> None:
    problem = make_day(Kind(visits=5), 3)
    assert len(_bounds(problem, calls=1)) >= 1
    assert _bounds(problem, calls=1)[0] > 0


def test_more_time_gives_a_better_bound() -> None:
    problem = make_day(Kind(visits=6), 4)
    assert _bounds(problem, calls=60)[-1] > _bounds(problem, calls=1)[-1]


def test_the_same_day_and_the_same_number_of_calls_give_the_same_bounds() -> None:
    problem = make_day(Kind(visits=6, pails=True, breaks=True), 5)
    assert _bounds(problem) == _bounds(problem)


def _short_of_syrup(seed: int) -> Problem:
    """A day with one truck whose depots have less syrup than is asked for, but no other limit that counts."""
    return make_day(Kind(visits=4, trucks=1, stock=True, margin=True), seed)


def test_where_loads_and_stock_decide_the_bound_comes_near_the_best_plan() -> None:
    gaps = []
    for seed in range(12):
        problem = _short_of_syrup(seed)
        best = best_price(problem, calls=1)
        gaps.append(1.0 - _bounds(problem, calls=200)[-1] / best)
    assert all(gap >= -1e-9 for gap in gaps)
    assert sorted(gaps)[len(gaps) // 2] < 0.02


def test_the_bound_never_exceeds_the_known_plan_it_is_given() -> None:
    problem = make_day(Kind(visits=3, trucks=1, depots=1), 1)
    best = best_price(problem)
    assert _bounds(problem, best * 1.0001, calls=200)[-1] <= best * (1 + 1e-9)
    assert _bounds(problem, best * 0.5, calls=200)[-1] == best * 0.5
