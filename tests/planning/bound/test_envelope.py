"""The envelope of a day: no choice of syrups in the tanks gives a plan below its bound."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import product

import pytest

from routing.domain.fleet import Tank
from routing.domain.operation import Operation
from routing.domain.ration import YardNeed
from routing.planning.bound.lower_bound import lower_bound
from routing.planning.problem.build import _build, build_days, envelope
from routing.planning.problem.frame import aboard_syrup, frame_day
from routing.planning.problem.problem import Problem
from routing.travel.straight.straight import straight_travel
from tests.support.tiny_days import best_price
from tests.support.trade import DAY, dose, need, operation, truck, yard

INF = float("inf")


def _every_choice(op: Operation, needs: Sequence[YardNeed]) -> list[Problem]:
    """The day with every choice of syrups in the tanks, not only those that are tried."""
    frame = frame_day(op, straight_travel(op), DAY, needs)
    tanks = [(k, t) for k, one in enumerate(frame.trucks) for t in one.tanks]
    may = [(bound,) if (bound := aboard_syrup(op, t)) else frame.syrups for _, t in tanks]
    found = []
    for names in product(*may):
        by_truck = [
            tuple(n for n, (k, _) in zip(names, tanks, strict=True) if k == at)
            for at in range(len(frame.trucks))
        ]
        found.append(_build(frame, tuple(by_truck)).problem)
    return found


def _bound(problem: Problem) -> float:
    calls = iter(range(10**6))
    return lower_bound(problem, INF, lambda: next(calls) / 60, lambda _: None)


@pytest.mark.parametrize("seed", range(8))
def test_the_bound_of_the_envelope_is_below_the_best_plan_of_every_choice_of_syrups(seed: int) -> None:
    rng = random.Random(seed)
    yards = [yard(f"Y{i}", rng.uniform(5, 40)) for i in range(3)]
    needs = [
        need(y.yard_id, dose(rng.randint(30, 60), rng.choice(("S67", "HF55")), rng.uniform(5, 9)))
        for y in yards
    ]
    tanks = (Tank("A", 500.0), Tank("B", 350.0), Tank("C", 300.0, rng.choice((None, "HF55"))))
    op = operation(yards, [truck(tanks=tanks)])
    days = build_days(op, straight_travel(op), DAY, needs)
    bounds = [_bound(problem) for problem in envelope(days)]
    visits = {problem.visits for problem in envelope(days)}
    best = min(best_price(p, calls=1) for p in _every_choice(op, needs) if p.visits in visits)
    assert 0 < min(bounds) <= best + 1e-9 * best


def test_every_free_tank_counts_for_each_syrup_but_all_tanks_only_once() -> None:
    tanks = (Tank("A", 600.0), Tank("B", 300.0, "HF55"), Tank("C", 200.0, level_l=50.0))
    op = operation([yard("A"), yard("B")], [truck(tanks=tanks)])
    needs = [need("A", dose(20, "S67")), need("B", dose(20, "HF55"))]
    (whole,) = envelope(build_days(op, straight_travel(op), DAY, needs))
    spec = whole.trucks[0]
    assert spec.capacity_ml == (800_000, 900_000)
    assert spec.level_ml == (50_000, 0)
    assert spec.tank_ml == 1_100_000


def test_a_yard_cut_otherwise_under_another_choice_makes_an_envelope_of_its_own() -> None:
    tanks = (Tank("A", 600.0), Tank("B", 250.0))
    op = operation([yard("A"), yard("B")], [truck(tanks=tanks)])
    needs = [need("A", dose(60, "S67")), need("B", dose(40, "HF55"))]
    days = build_days(op, straight_travel(op), DAY, needs)
    assert len(envelope(days)) == len({d.problem.visits for d in days}) > 1
    assert len({p.dear for p in envelope(days)}) == 1
