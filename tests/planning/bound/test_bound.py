"""The lower bound: never above the cheapest plan there is, and told early."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import fields, replace
from itertools import combinations, product

import numpy as np
import pytest

from routing.planning.bound.branching import Fleet
from routing.planning.bound.labels import Labelling, ModelDuals, pairs
from routing.planning.bound.lower_bound import lower_bound
from routing.planning.bound.master import Master
from routing.planning.bound.model import FAR, Hours, TruckModel, closing
from routing.planning.bound.resources import stocks_of, whole_levels
from routing.planning.bound.rounds import Pricing, Round
from routing.planning.bound.truck import truck_models
from routing.planning.evaluate.state import Judge
from routing.planning.problem.problem import Problem
from tests.support import tiny_days
from tests.support.tiny_days import Kind, best_price, make_day

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


@pytest.mark.parametrize("seed", range(24))
def test_no_round_is_cheaper_than_the_labels_say_whatever_the_duals(seed: int) -> None:
    rng = random.Random(seed)
    problem = make_day(_any_kind(seed), seed)
    for model in truck_models(problem):
        if not model.visits:
            continue
        duals = _any_duals(rng, model)
        near = [[j for j in range(len(model.visits)) if j != i] for i in range(len(model.visits))]
        pricing = Pricing(model, [some[:1] for some in near], 60, 12)
        pricing.price(duals.visits, np.append(duals.own, duals.stocks))
        labelling = Labelling(model, near)
        bound, rounds = labelling.price(pricing, duals, FAR, 10**6, lambda: False)
        least = _least_of_all_rounds(problem, model, duals)
        assert bound <= least + 1e-6
        assert bound == FAR or bound == pytest.approx(min(_cost(r, duals) for r in rounds))


def test_labels_cut_short_bound_no_higher_than_all_of_them() -> None:
    rng = random.Random(7)
    problem = make_day(Kind(visits=6, trucks=1), 6)
    (model,) = truck_models(problem)
    near = [[j for j in range(6) if j != i] for i in range(6)]
    pricing = Pricing(model, near, 60, 12)
    duals = _any_duals(rng, model)
    pricing.price(duals.visits, np.append(duals.own, duals.stocks))
    labelling = Labelling(model, near)
    whole, _ = labelling.price(pricing, duals, 0.0, 10**6, lambda: False)
    short, _ = labelling.price(pricing, duals, 0.0, 0, lambda: True)
    assert short <= whole < 0.0
    assert labelling.go_on(10**6, lambda: False)[0] == pytest.approx(whole)


def _any_duals(rng: random.Random, model: TruckModel) -> ModelDuals:
    n, own = len(model.visits), model.use.shape[1] - model.shared
    visits = np.array([rng.choice([0.0, 30.0, 90.0, 300.0]) for _ in range(n)])
    stocks = np.array([rng.choice([0.0, 25.0]) for _ in range(model.shared)])
    cuts = list(combinations(range(n), 3)) if n >= 3 else []
    cut_duals = [rng.choice([5.0, 40.0]) for _ in cuts]
    return ModelDuals(visits, np.array([rng.choice([0.0, 4.0]) for _ in range(own)]), stocks, cuts, cut_duals)


def _cost(found: Round, duals: ModelDuals) -> float:
    drawn = np.array(found.use[len(duals.own) :])
    charged = sum(f * pairs(found.visits, c) for c, f in zip(duals.cuts, duals.cut_duals, strict=True))
    return float(found.money - duals.visits[list(found.visits)].sum() + drawn @ duals.stocks + charged)


def _least_of_all_rounds(problem: Problem, model: TruckModel, duals: ModelDuals) -> float:
    """The least cost of any round that no stock forbids, under some duals, by the exact rules."""
    least, stocks = INF, stocks_of(problem)
    for visits, rounds in tiny_days._rounds(Judge(problem), model.truck, 1).items():
        at = [model.visits.index(v) for v in visits] if visits else []
        for one in rounds if visits else ():
            drawn = dict(one.drawn)
            use = [drawn.get((d, s), 0) / max(1, whole) for d, s, whole in stocks]
            if max(use, default=0.0) <= 1.0:
                least = min(least, _cost(Round(tuple(at), one.cost, (*duals.own * 0, *use)), duals))
    return least


def test_three_rounds_that_share_three_visits_by_halves_break_a_cut_which_parts_them() -> None:
    problem = make_day(Kind(visits=3, trucks=1), 2)
    (model,) = truck_models(problem)
    model = replace(model, count=3)
    master = Master([model], np.full(3, 1000.0))
    nothing = tuple(np.zeros(model.use.shape[1]))
    for pair in ((0, 1), (1, 2), (0, 2)):
        master.add(0, Round(pair, 10.0, nothing))
    master.add(0, Round((0, 1, 2), 17.0, nothing))
    assert master.solve(np.full(3, 1000.0)).total == pytest.approx(15.0)
    assert master.violated_cuts(5, 0.01) == [(0, 1, 2)]
    master.cut((0, 1, 2))
    assert master.solve(np.full(3, 1000.0)).total == pytest.approx(17.0)
    assert master.violated_cuts(5, 0.01) == []


@pytest.mark.parametrize("seed", range(20))
def test_the_cheapest_fleet_is_the_cheapest_of_all_that_may_go_out(seed: int) -> None:
    rng = random.Random(seed)
    least = tuple(rng.randint(0, 1) for _ in range(3))
    most = tuple(rng.randint(2, 4) for _ in range(3))
    fleet = Fleet((*least, rng.randint(3, 5)), (*most, rng.randint(5, 9)))
    extra = [rng.uniform(-50, 50) for _ in range(3)]
    every = (
        sum(c * e for c, e in zip(counts, extra, strict=True))
        for counts in product(*(range(5) for _ in range(3)))
        if all(a <= c <= b for a, c, b in zip(least, counts, most, strict=True))
        and fleet.least[-1] <= sum(counts) <= fleet.most[-1]
    )
    assert fleet.cheapest(extra) == pytest.approx(min(every))


@pytest.mark.parametrize("seed", range(20))
def test_what_fits_into_a_truck_fits_when_it_is_counted_in_levels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shares = rng.uniform(0, 0.7, 6)
    for count in (5, 12, 40):
        counted = whole_levels(shares, count)
        for size in range(1, 7):
            for some in combinations(range(6), size):
                assert shares[list(some)].sum() > 1.0 or counted[list(some)].sum() <= count


def test_a_round_of_eleven_hours_pays_its_break_and_its_overtime() -> None:
    """By hand: 11 h less 1 h loaded before is 10 h, a break of half an hour after 6 h, work of 10.5 h."""
    hours = Hours(12 * 3600.0, 3600.0, 0.0, 6 * 3600.0, 1800.0, 8 * 3600.0, 0.01, 0.005, 40.0)
    within, beyond = closing(hours, np.array([11 * 3600.0, 13 * 3600.0]))
    assert within == pytest.approx(40.0 + 1800 * 0.01 + 2.5 * 3600 * 0.005)
    assert beyond >= FAR
