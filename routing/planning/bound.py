"""Bound the price of every plan of a day from below, the better the longer it may take.

The day is relaxed to a choice of rounds (full routes with their calls at depots), one for each truck that
goes out, by a linear program with columns made as they are wanted; the bound is Lagrange's, which holds for
whatever prices of visits and tanks it is asked, so that it may be stopped at any time.

What is let go, always downward:

- a visit may be shared between rounds, and a round may come back to a visit that it has forgotten;
- tanks, pails and legal mass hold on average over the rounds of like trucks, not trip by trip;
- time is rounded down to steps, waits cost nothing, hours of depots and late stock are passed over;
- loading is done where it is fastest, syrup is carried the shortest way, the spare share is left out;
- empties, weak bridges on the way, the depots' stock, the pause rule by driving, the driving limit, balance
  and the price of change cost nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from routing.planning.bound_master import Master
from routing.planning.bound_model import FAR, Floats, TruckModel
from routing.planning.bound_quick import quick_bound
from routing.planning.bound_rounds import Pricing
from routing.planning.bound_truck import truck_models
from routing.planning.problem import Problem

ROUNDS_A_TIME = 15
STEADY = 0.6
TRUST = 1e-7
STEPS = 360
MOST_STEPS = 3000


def lower_bound(
    problem: Problem,
    upper: float,
    progress: Callable[[], float],
    tell: Callable[[float], None],
) -> float:
    """No plan of the problem has a price (``State.price``) below this.

    ``upper`` is the price of a known plan (or inf); the bound never exceeds it, and meets it where that plan
    is proved to be the cheapest. ``progress`` reaches 1 when time is up; ``tell`` hears each better bound.
    """
    models = truck_models(problem)
    prices = np.array([v.value + problem.dear * v.required for v in problem.visits])
    # A plan that leaves a visit dearer than the known plan is no cheaper than that.
    prices = np.minimum(prices, max(0.0, upper))
    search = _Search([m for m in models if m.visits], prices, upper, tell)
    idle = sum(m.count * m.idle for m in models if not m.visits)
    search.note(quick_bound(search.models, prices) + idle)
    search.constant = idle
    if search.models and not search.closed:
        search.run(progress)
    return search.bound


class _Search:
    """Column generation with steadied prices."""

    def __init__(
        self, models: Sequence[TruckModel], prices: Floats, upper: float, tell: Callable[[float], None]
    ) -> None:
        self.models, self.prices, self.upper, self.tell = models, prices, upper, tell
        self.bound, self.constant = -np.inf, 0.0

    @property
    def closed(self) -> bool:
        """Whether nothing is left to prove."""
        return self.bound >= self.upper

    def note(self, value: float) -> None:
        """Keep a bound that is better, less what sums of floats may be wrong by."""
        value = min(value - TRUST * (1.0 + abs(value)), self.upper)
        if self.upper - value <= 2 * TRUST * (1.0 + abs(value)):
            value = self.upper
        if value > self.bound:
            self.bound = float(value)
            self.tell(self.bound)

    def run(self, progress: Callable[[], float]) -> None:
        """Price and solve in turn until nothing is gained or the time is up."""
        steps = max(_steps(model) for model in self.models)
        if steps > MOST_STEPS:
            return
        pricings = [_pricing(model, max(STEPS, steps)) for model in self.models]
        master = Master(self.models, self.prices)
        centre: tuple[Floats, list[Floats]] | None = None
        best, steady = -np.inf, STEADY
        while progress() < 1.0 and not self.closed:
            total, worth, asked = master.solve()
            worth = np.minimum(worth, self.prices)
            if centre is not None:
                worth = steady * centre[0] + (1 - steady) * worth
                asked = [steady * a + (1 - steady) * b for a, b in zip(centre[1], asked, strict=True)]
            value, added = float(worth.sum()) + self.constant, 0
            for at, (model, pricing) in enumerate(zip(self.models, pricings, strict=True)):
                least = pricing.price(worth[list(model.visits)], asked[at])
                value += model.count * min(model.idle, least)
                added += sum(master.add(at, found) for found in pricing.best(ROUNDS_A_TIME))
            self.note(value)
            if value > best:
                best, centre = value, (worth, asked)
            if total + self.constant - best <= 1e-6 * (1.0 + abs(total)):
                return
            if not added:
                if not steady:
                    return
                steady = steady / 2 if steady > 0.2 else 0.0


def _steps(model: TruckModel) -> int:
    """How many steps of time the hours need at least, for every way to last one or more."""
    shortest = min(float(way.seconds[:-1].min(initial=FAR)) for way in model.ways)
    return int((model.longest_s + model.credit_s) / max(1e-6, shortest)) + 1


def _pricing(model: TruckModel, steps: int) -> Pricing:
    between = np.minimum.reduce([way.money[:-1] for way in model.ways])
    between = np.minimum(between, between.T)
    n = len(model.visits)
    most = next(g for limit, g in ((14, 6), (24, 5), (60, 3), (140, 2), (10**9, 1)) if n <= limit)
    near = [[int(j) for j in np.argsort(row, kind="stable")[:most] if row[j] < FAR] for row in between]
    return Pricing(model, near, steps)
