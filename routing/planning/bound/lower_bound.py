"""Bound the price of every plan of a day from below, the better the longer it may take.

The day is relaxed to a choice of rounds (full routes with their calls at depots), one for each truck that
goes out, by a linear program solved by column generation. For any duals, their sum plus the least reduced
costs of the fleet is a Lagrangian bound, so pricing can stop at any time. Pricing first relaxes rounds far
(loads on average, ``rounds``), then keeps their loads trip by trip (``labels``).

What is relaxed, always downward:

- rounds may share a visit, and a round may come back to a visit that it has forgotten (ng-routes);
- limited stock holds on average over all rounds, and for a single round only where it is scarce;
- time windows, except the latest closing time, are relaxed, and waits cost nothing; so are hours of depots,
  stock that comes late and release times;
- the truck loads where loading is fastest, what is aboard in the morning saves its loading, the spare share
  is neither carried nor filled;
- the truck washes on the shortest way, and drives the shortest way through several calls in a row;
- climbs, empties, breaks by driving time, the driving limit, balance and the price of change cost nothing.

A round calls only at the refill depots of its truck, and yards are cut into visits as they stand in the
problem. Days without limits of time have only the first bound, half of the cheapest ways to and from visits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

import numpy as np

from routing.planning.bound.column_generation import Search
from routing.planning.bound.model import FAR, TruckModel
from routing.planning.bound.resources import stocks_of
from routing.planning.bound.rounds import Round
from routing.planning.bound.truck import truck_models
from routing.planning.evaluate.state import INFEASIBLE, Judge, closed
from routing.planning.machine_code.records import Floats
from routing.planning.problem.problem import Problem, Solution

TRUST = 1e-7


def lower_bound(
    problem: Problem,
    upper: float,
    progress: Callable[[], float],
    tell: Callable[[float], None],
    known: Solution | None = None,
    by_rounds: bool = True,
) -> float:
    """A price (``State.price``) that no plan of the problem is below.

    Parameters
    ----------
    problem : Problem
    upper : float
        The price of a known plan (or inf). The bound never exceeds it, and comes within a cent of it where
        that plan is proved to be the cheapest (``state.closed``).
    progress : callable
        Reaches 1 when time is up.
    tell : callable
        Hears each better bound.
    known : Solution, optional
        A plan whose rounds are columns to begin with.
    by_rounds : bool
        Whether to generate columns. Without, there is only the first bound, which needs no compiled code.
    """
    models = truck_models(problem)
    penalties = np.array([v.value + problem.dear * v.required for v in problem.visits])
    # A plan that leaves a visit for more than the known plan costs is no cheaper than that.
    penalties = np.minimum(penalties, max(0.0, upper))
    able = [m for m in models if m.visits]
    idle = sum(m.count * m.idle for m in models if not m.visits)
    best = _Best(upper, tell)
    quick, visit_costs = quick_bound(able, penalties)
    best.note(quick + idle)
    if able and by_rounds and not best.closed:
        Search(
            able,
            penalties,
            visit_costs,
            note=lambda value: best.note(value + idle),
            over=lambda: best.closed or progress() >= 1.0,
            upper=upper,
            known=_rounds(problem, able, known) if known is not None else (),
        ).run()
    return best.bound


def quick_bound(models: Sequence[TruckModel], penalties: Floats) -> tuple[float, Floats]:
    """A bound at once, and each visit's part in it: the least it costs with any truck, or its penalty.

    A visit costs at least half of the cheapest way to it and of the cheapest way on, and the visit itself.
    """
    least = penalties.copy()
    spared = 0.0
    for model in models:
        spared += model.count * max(0.0, model.spared)
        if model.visits:
            at = list(model.visits)
            least[at] = np.minimum(least[at], _half_ways(model))
    return float(least.sum() - spared), least


def _half_ways(model: TruckModel) -> Floats:
    between = np.minimum.reduce([way.money for way in model.ways])
    between = np.where(between >= FAR, FAR, between - model.standing)
    onward = between[:-1].min(axis=1)
    return np.asarray((between.min(axis=0) + np.minimum(onward, model.home_money)) / 2 + model.standing)


def _rounds(problem: Problem, models: Sequence[TruckModel], known: Solution) -> list[tuple[int, Round]]:
    """The rounds of a plan, each with the position of its model, at what they truly cost."""
    judge = Judge(problem)
    of = {model.truck: at for at, model in enumerate(models)}
    found = []
    for truck, stops in enumerate(known.routes):
        at, order = of.get(problem.identical_trucks[truck]), [v for v in stops if v >= 0]
        judged = judge(truck, stops)
        if at is None or not order or judged.cost == INFEASIBLE or not set(order) <= set(models[at].visits):
            continue
        drawn = dict(judged.drawn)
        stocks = [drawn.get((d, s), 0) / max(1, whole) for d, s, whole in stocks_of(problem)]
        use = (*(0.0,) * (models[at].use.shape[1] - len(stocks)), *stocks)
        found.append((at, Round(tuple(models[at].visits.index(v) for v in order), judged.cost, use)))
    return found


class _Best:
    """The best bound so far."""

    def __init__(self, upper: float, tell: Callable[[float], None]) -> None:
        self.upper, self.tell, self.bound = upper, tell, -np.inf

    @property
    def closed(self) -> bool:
        """Whether nothing is left to prove."""
        return closed(self.upper, self.bound)

    def note(self, value: float) -> None:
        """Keep a bound that is better, less what sums of floats may be wrong by."""
        if not isfinite(value):
            return
        value = min(value - TRUST * (1.0 + abs(value)), self.upper)
        if value > self.bound:
            self.bound = float(value)
            self.tell(self.bound)
