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

from collections.abc import Callable
from math import isfinite

import numpy as np

from routing.planning.bound_quick import quick_bound
from routing.planning.bound_search import Search
from routing.planning.bound_truck import truck_models
from routing.planning.problem import Problem
from routing.planning.state import closed

TRUST = 1e-7


def lower_bound(
    problem: Problem,
    upper: float,
    progress: Callable[[], float],
    tell: Callable[[float], None],
) -> float:
    """No plan of the problem has a price (``State.price``) below this.

    ``upper`` is the price of a known plan (or inf); the bound never exceeds it, and comes within a cent of it
    where that plan is proved to be the cheapest (``state.closed``). ``progress`` reaches 1 when time is up;
    ``tell`` hears each better bound.
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
    if able and not best.closed:
        Search(
            able,
            leaving,
            shares,
            note=lambda value: best.note(value + idle),
            over=lambda: best.closed or progress() >= 1.0,
        ).run()
    return best.bound


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
