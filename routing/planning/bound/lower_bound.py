"""Bound the price of every plan of a day from below, the better the longer it may take.

The day is relaxed to a choice of rounds (full routes with their calls at depots), one for each truck that
goes out, by a linear program with columns made as they are wanted; the bound is Lagrange's, which holds for
whatever prices of visits it is asked, so that it may be stopped at any time. Rounds are at first relaxed far
(loads on average, ``bound_rounds``), then kept to their loads trip by trip (``bound_labels``).

What is let go, always downward:

- a visit may be shared between rounds, and a round may come back to a visit that it has forgotten;
- limited stock holds on average over all rounds, and for one round alone only where it is scarce;
- gates are kept only as to when they shut for good, on the way there; waits cost nothing; hours of depots,
  stock that comes late and release times are passed over;
- loading is done where it is fastest, what is aboard in the morning saves its loading, the spare share is
  neither carried nor filled;
- a wash is had on the shortest way; several calls in a row are driven the shortest way;
- climbs, empties, the pause rule by driving, the driving limit, balance and the price of change cost nothing.

A round calls at the refill depots of its truck alone, and yards are cut into visits as they stand in the
problem. Days without limits of time have only the first bound, half of the cheapest ways to and from visits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

import numpy as np

from routing.planning.bound.column_generation import Search
from routing.planning.bound.model import TruckModel
from routing.planning.bound.quick import quick_bound
from routing.planning.bound.resources import stocks_of
from routing.planning.bound.rounds import Round
from routing.planning.bound.truck import truck_models
from routing.planning.evaluate.state import INFEASIBLE, Judge, closed
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
    """No plan of the problem has a price (``State.price``) below this.

    ``upper`` is the price of a known plan (or inf); the bound never exceeds it, and comes within a cent of it
    where that plan is proved to be the cheapest (``state.closed``). ``progress`` reaches 1 when time is up;
    ``tell`` hears each better bound. ``known`` is a plan to set out from.
    Not ``by_rounds``: by the first bound alone, where the rest would have to be compiled before.
    """
    models = truck_models(problem)
    leaving = np.array([v.value + problem.dear * v.required for v in problem.visits])
    # A plan that leaves a visit dearer than the known plan is no cheaper than that.
    leaving = np.minimum(leaving, max(0.0, upper))
    able = [m for m in models if m.visits]
    idle = sum(m.count * m.idle for m in models if not m.visits)
    best = _Best(upper, tell)
    quick, shares = quick_bound(able, leaving)
    best.note(quick + idle)
    if able and by_rounds and not best.closed:
        Search(
            able,
            leaving,
            shares,
            note=lambda value: best.note(value + idle),
            over=lambda: best.closed or progress() >= 1.0,
            upper=upper,
            known=_rounds(problem, able, known) if known is not None else (),
        ).run()
    return best.bound


def _rounds(problem: Problem, models: Sequence[TruckModel], known: Solution) -> list[tuple[int, Round]]:
    """The rounds of a plan, each with the position of its model, at what they truly cost."""
    judge = Judge(problem)
    of = {model.truck: at for at, model in enumerate(models)}
    found = []
    for truck, stops in enumerate(known.routes):
        at, order = of.get(problem.twins[truck]), [v for v in stops if v >= 0]
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
