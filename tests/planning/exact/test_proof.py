"""Proofs of small days against every plan there is."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from routing.planning.exact.proof import Proof, prove
from routing.planning.exact.rounds import Failures
from routing.planning.exact.stock import Stocks
from routing.planning.problem.climb import Climb
from routing.planning.problem.problem import Problem, Solution
from tests.support.invented.days import invented_day
from tests.support.tiny_days import Kind, any_kind, best_price, make_day, small_rack


def price(problem: Problem, solution: Solution | None) -> float:
    assert solution is not None
    return solution.objective + problem.dear * sum(problem.visits[v].required for v in solution.unserved)


def proof_of(problem: Problem) -> Proof:
    return prove(problem, None, lambda: 0.0, lambda bound, better: None)


def check(problem: Problem) -> None:
    """The bound is never above the best plan that trying them all finds; the plan proved is as good."""
    best, proof = best_price(problem, 1), proof_of(problem)
    assert proof.bound <= best + 1e-6
    assert proof.proved
    assert price(problem, proof.solution) <= best + 1e-5
    assert proof.bound == pytest.approx(price(problem, proof.solution), rel=1e-6, abs=1e-5)


@pytest.mark.parametrize("seed", range(60))
def test_bound_of_a_tiny_day_is_the_price_of_its_best_plan(seed: int) -> None:
    check(make_day(any_kind(seed, 3), seed))


@pytest.mark.parametrize("seed", range(300, 312))
def test_two_swaps_of_pails_on_a_small_rack_are_bounded_rightly(seed: int) -> None:
    check(small_rack(seed))


@pytest.mark.parametrize("seed", range(350, 356))
def test_days_in_the_hills_are_bounded_rightly(seed: int) -> None:
    day = make_day(Kind(visits=3, trucks=2, depots=2, windows=seed % 2 == 0, margin=True), seed)
    rng = random.Random(seed)
    places = range(len(day.distance_m[0]))
    rows = tuple([[rng.randrange(0, 600) if a != b else 0 for b in places] for a in places] for _ in "1")
    check(replace(day, trucks=tuple(replace(t, climb=Climb(rows, 3e-9)) for t in day.trucks)))


@pytest.mark.parametrize("seed", range(360, 372))
def test_two_trucks_that_share_small_stocks_are_bounded_rightly(seed: int) -> None:
    day = make_day(Kind(visits=3, trucks=2, depots=2, syrups=1 + seed % 2, margin=seed % 3 == 0), seed)
    rng = random.Random(seed)
    depots = tuple(
        replace(
            d,
            supplies=tuple(
                s and replace(s, stock_ml=rng.choice([200_000, 350_000, 500_000])) for s in d.supplies
            ),
        )
        for d in day.depots
    )
    check(replace(day, depots=depots))


@pytest.mark.parametrize("seed", range(400, 404))
def test_several_calls_in_a_row_are_bounded_rightly(seed: int) -> None:
    """Each depot has one of two syrups, so that a truck must call at both before it is laden."""
    day = make_day(Kind(visits=2, trucks=1, depots=3, syrups=2), seed)
    depots = tuple(
        replace(d, supplies=tuple(day.depots[0].supplies[s] if s == i % 2 else None for s in (0, 1)))
        for i, d in enumerate(day.depots)
    )
    day = replace(day, depots=depots, trucks=(replace(day.trucks[0], refill_depots=(0, 1, 2)),))
    best, proof = best_price(day, 2), proof_of(day)
    assert proof.proved
    assert proof.bound <= best + 1e-6
    assert price(day, proof.solution) <= best + 1e-5


@pytest.mark.parametrize("seed", range(500, 510))
def test_what_is_not_tried_again_would_not_have_helped(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same bound without remembering failures, and without looking at what all stocks can give."""
    day = make_day(replace(any_kind(seed, 6), trucks=1, depots=2), seed)
    quick = proof_of(day)
    monkeypatch.setattr(Failures, "known", lambda self, key, criteria: False)
    monkeypatch.setattr(Stocks, "enough", lambda self, drawn, subsets: np.ones(len(subsets), dtype=bool))
    plain = proof_of(day)
    assert quick.proved
    assert plain.proved
    assert quick.bound == pytest.approx(plain.bound, abs=1e-5)


def test_a_day_of_twelve_yards_with_a_refill_is_proved() -> None:
    (day,) = invented_day(4, 12)
    proof = proof_of(day)
    assert proof.proved
    assert proof.solution is not None
    assert any(stop < 0 for stop in proof.solution.routes[0])
    assert proof.bound == pytest.approx(price(day, proof.solution), rel=1e-6)


def test_bound_grows_while_time_lasts_and_holds_when_time_is_up() -> None:
    day = make_day(Kind(visits=8, trucks=2, depots=2, windows=True), 7)
    best = price(day, proof_of(day).solution)
    reached = []
    for steps in (1, 40, 100, 400):
        told: list[float] = []
        calls = iter(range(10**9))
        proof = prove(
            day, None, lambda c=calls, s=steps: next(c) / s, lambda bound, better, t=told: t.append(bound)
        )
        assert told == sorted(told)
        assert proof.bound <= best + 1e-6
        reached.append(proof.bound)
    assert reached == sorted(reached)
    assert reached[0] < reached[-1]


def test_a_known_plan_is_never_made_worse() -> None:
    day = make_day(Kind(visits=4, trucks=2, depots=2), 11)
    best = proof_of(day).solution
    proof = prove(day, best, lambda: 1.0, lambda bound, better: None)
    assert price(day, proof.solution) <= price(day, best) + 1e-9
    assert not proof.proved or proof.bound <= price(day, best)


def test_a_day_that_has_begun_is_declined() -> None:
    day = make_day(Kind(visits=2, trucks=1), 3)
    begun = replace(day, trucks=(replace(day.trucks[0], on_the_clock=True),))
    assert prove(begun, None, lambda: 0.0, lambda bound, better: None) == Proof(float("-inf"), None, False)


def test_free_overtime_is_no_riddle_to_what_no_round_can_serve() -> None:
    """What no round serves takes for ever; where overtime costs nothing, no product of the two is made."""
    day = make_day(Kind(visits=3, trucks=1, depots=1), 7)
    crews = tuple(replace(t, overtime_per_s=0.0, ordinary_s=1, overtime_s=0) for t in day.trucks)
    free = replace(day, trucks=crews)
    with np.errstate(invalid="raise"):
        proof = proof_of(free)
    assert proof.proved
    assert price(free, proof.solution) == pytest.approx(best_price(free, 1))
