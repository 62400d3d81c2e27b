"""Prove how good a plan of a small day is: a lower bound on every plan, and the best plan when all are tried.

No plan is cheaper than the floors of its rounds with the price of what is left out. Every round that could
be part of a plan cheaper than a target is listed and judged exactly (``exact_rounds``); the best plan put
together from those is the best there is, or no plan is cheaper than the target. The target rises from the
floor to the price of the best plan known, so that the bound grows while time lasts.

The bound holds for every plan of the problem's visits with refills at the trucks' refill depots: any number
of refills, any order, loads and clock by the exact rules.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.exact.floor import RoundFloors
from routing.planning.exact.rounds import Round, Rounds
from routing.planning.exact.stock import served_together
from routing.planning.exact.subsets import Floats, Subsets, shared
from routing.planning.exact.trips import plain
from routing.planning.problem.problem import Problem, Solution
from routing.planning.search.search import adopt

MOST_VISITS = 13
MOST_TRUCKS = 5
FURTHER = 0.1
"""The first target: so far on the way from the floor to the price known. Each pass goes as far again, or
twice as far while its work does not double."""
FEW_STEPS = 1_000
TIED = 1e-9
TIED_MONEY = 1e-6

Tell = Callable[[float, Solution | None], None]


@dataclass(frozen=True)
class Proof:
    """A lower bound on the price (``State.price``) of every plan, and the best plan known.

    ``proved``: the plan is the best there is, and the bound is its price but for rounding.
    """

    bound: float
    solution: Solution | None
    proved: bool


class _TimeUp(Exception):
    """The search must end."""


def prove(problem: Problem, start: Solution | None, progress: Callable[[], float], tell: Tell) -> Proof:
    """Search a small day to the end, or until ``progress`` reaches 1.

    ``start`` is a known plan. ``tell`` hears of each higher bound, and of each better plan with the bound of
    then. A day that is too large, or has begun (trucks on the clock, drivers told something before), is
    declined: the bound is minus infinity.
    """
    if len(problem.visits) > MOST_VISITS or not 1 <= len(problem.trucks) <= MOST_TRUCKS or not plain(problem):
        return Proof(-np.inf, start, False)
    search = _Search(problem, start, progress, tell)
    with suppress(_TimeUp):
        search.run()
    return Proof(search.bound, search.best.solution(), search.proved)


class _Search:
    """The hunt for a cheaper plan, until none is left."""

    def __init__(
        self, problem: Problem, start: Solution | None, progress: Callable[[], float], tell: Tell
    ) -> None:
        self.problem, self.progress, self.tell = problem, progress, tell
        self.judge = Judge(problem)
        self.best = adopt(self.judge, start.routes if start else ((),) * len(problem.trucks))
        self.bound, self.proved = -np.inf, False

    def _tick(self) -> None:
        if self.progress() >= 1.0:
            raise _TimeUp

    def run(self) -> None:
        """Floors first, then targets from low to high."""
        self._tick()
        self.sets = Subsets(self.problem)
        self.floors = [RoundFloors(self.sets, k, self._tick) for k in range(len(self.problem.trucks))]
        self.costs = [floors.cost for floors in self.floors]
        served = served_together([floors.stocks for floors in self.floors])
        self.left = np.where(served, self.sets.left_price, np.inf)[::-1].copy()
        lowest = float(shared(self.costs, self.left)[-1])
        self._raise(lowest)
        share, further, before = 0.0, FURTHER, FEW_STEPS
        while not self.proved:
            price = self.best.price
            highest = price - TIED_MONEY - TIED * abs(price)
            share = min(1.0, share + further)
            steps = self._pass(lowest + share * (highest - lowest)) if lowest < highest else 0
            self.proved |= share >= 1 or lowest >= highest
            further *= 2.0 if steps < 2 * before else 0.7 if steps > 4 * before else 1.0
            before = max(steps, FEW_STEPS)
        self._raise(self.best.price)

    def _raise(self, bound: float) -> None:
        """A bound that holds but for rounding."""
        bound = min(bound, self.best.price)
        bound -= TIED_MONEY + TIED * abs(bound)
        if bound > self.bound:
            self.bound = bound
            self.tell(bound, None)

    def _pass(self, target: float) -> int:
        """List every round of a plan under the target, and put together the best plan. Returns its steps."""
        steps = 0
        listed: list[dict[int, list[Round]]] = []
        for k, floors in enumerate(self.floors):
            others = [cost for j, cost in enumerate(self.costs) if j != k]
            elsewhere = shared(others, self.left)[::-1].copy()
            rounds = Rounds(floors, self.judge, elsewhere, target, len(self.floors) == 1, self._tick)
            listed.append(rounds.search())
            steps += rounds.steps
            self.costs[k] = self._learnt(self.costs[k], listed[-1], elsewhere, target)
        chosen = _Choice(self.problem, self.judge, self.sets, listed, self.left, target, self._tick).best()
        if chosen is None:
            self._raise(target)
        else:
            self._adopt(chosen)
            self.proved = True
        return steps

    def _learnt(
        self, cost: Floats, listed: dict[int, list[Round]], elsewhere: Floats, target: float
    ) -> Floats:
        """Costs by subset, now that every round to it under the target is known."""
        cost = np.maximum(cost, target - elsewhere)
        cost[0] = 0.0
        for subset, rounds in listed.items():
            cost[subset] = min(r.cost for r in rounds)
        return cost

    def _adopt(self, chosen: tuple[Round | None, ...]) -> None:
        state = State(self.judge)
        for truck, one in enumerate(chosen):
            if one is not None:
                if state.route_cost(truck, one.stops) == INFEASIBLE:
                    raise AssertionError("rounds chosen together overdraw a stock")
                state.put(truck, one.stops)
        if state.price < self.best.price:
            self.best = state
            self.tell(self.bound, state.solution())


class _Choice:
    """The best plan under a target from rounds listed by truck and subset."""

    def __init__(
        self,
        problem: Problem,
        judge: Judge,
        sets: Subsets,
        listed: list[dict[int, list[Round]]],
        left: Floats,
        target: float,
        tick: Callable[[], None],
    ) -> None:
        self.problem, self.judge, self.sets, self.listed = problem, judge, sets, listed
        self.price, self.tick, self.steps = target, tick, 0
        self.chosen: tuple[Round | None, ...] | None = None
        self.ahead = [left]
        for rounds in reversed(listed):
            cost = np.full(sets.count, np.inf)
            cost[0] = 0.0
            for subset, some in rounds.items():
                cost[subset] = min(r.cost for r in some)
            self.ahead.insert(0, shared([cost], self.ahead[0]))

    def best(self) -> tuple[Round | None, ...] | None:
        """One round or none for each truck; None when no plan is under the target."""
        self._choose(0, self.sets.everything, 0.0, ())
        return self.chosen

    def _choose(self, truck: int, open_: int, cost: float, chosen: tuple[Round | None, ...]) -> None:
        self.steps += 1
        if self.steps % 256 == 0:
            self.tick()
        if truck == len(self.listed):
            self._finish(cost + float(self.ahead[-1][open_]), chosen)
            return
        after = self.ahead[truck + 1]
        options: list[tuple[float, int, int, Round | None]] = [(float(after[open_]), 0, 0, None)]
        for subset, rounds in self.listed[truck].items():
            if subset & ~open_ == 0:
                rest = float(after[open_ ^ subset])
                options += [(r.cost + rest, subset, i, r) for i, r in enumerate(rounds)]
        options.sort(key=lambda option: option[:3])
        for least, subset, _, one in options:
            if cost + least >= self.price:
                return
            self._choose(truck + 1, open_ ^ subset, cost + (one.cost if one else 0.0), (*chosen, one))

    def _finish(self, price: float, chosen: tuple[Round | None, ...]) -> None:
        used = [one for one in chosen if one is not None]
        if self.problem.balance_per_s and len(used) > 1:
            work = [one.work_s for one in used]
            price += self.problem.balance_per_s * (max(work) - min(work))
        if price < self.price and self._in_stock(used):
            self.price, self.chosen = price, chosen

    def _in_stock(self, used: list[Round]) -> bool:
        total: dict[tuple[int, int], int] = {}
        for one in used:
            for key, ml in one.drawn:
                total[key] = total.get(key, 0) + ml
        return all(ml <= self.judge.limited[key] for key, ml in total.items())
