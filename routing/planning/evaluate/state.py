"""A day under construction: routes with their exact cost, the visits left out, the stock drawn."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from routing.planning.evaluate.loads import FAULTS, Fault
from routing.planning.evaluate.route_rules import rules_of
from routing.planning.evaluate.rules.cost import OUT, day_price
from routing.planning.evaluate.rules.scratch import LAWFUL
from routing.planning.problem.problem import Problem, Solution, Stops

Drawn = tuple[tuple[tuple[int, int], int], ...]
INFEASIBLE = float("inf")
MOST_KNOWN = 400_000
# A plan is as good as a bound where less than a cent lies between, and what sums of floats may be wrong by.
CENT = 0.005
CLOSE = 2e-7


@dataclass(frozen=True, slots=True)
class Judged:
    """What the search needs to know of one route; cost is infinite where a rule is broken.

    ``busy_s`` is its work without waits, spare loading, and breaks that another stop might put off: what more
    stops can only add to.
    """

    cost: float
    fault: Fault | None
    work_s: int
    drawn: Drawn
    busy_s: int = 0


class Judge:
    """Times and prices routes exactly, and remembers them."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._known: dict[tuple[int, Stops], Judged] = {}
        self.limited = {
            (d, s): supply.stock_ml
            for d, depot in enumerate(problem.depots)
            for s, supply in enumerate(depot.supplies)
            if supply is not None and supply.stock_ml is not None
        }

    def __call__(self, truck: int, stops: Stops) -> Judged:
        """The exact judgement of one route."""
        key = (truck, stops)
        found = self._known.get(key)
        if found is None:
            if len(self._known) > MOST_KNOWN:
                self._known.clear()
            found = self._known[key] = self._judge(truck, stops)
        return found

    def _judge(self, truck: int, stops: Stops) -> Judged:
        rules = rules_of(self.problem)
        cost, fault, work_s, busy_s = rules.judge(truck, stops)
        if fault != LAWFUL or not self.limited or not stops:
            return Judged(cost, FAULTS[fault], work_s, (), busy_s)
        depots = {self.problem.trucks[truck].start, *(-1 - stop for stop in stops if stop < 0)}
        drawn = rules.scratch.drawn_ml
        taken = tuple((key, drawn[key[0]][key[1]]) for key in self.limited if key[0] in depots)
        return Judged(cost, None, work_s, tuple((key, ml) for key, ml in taken if ml), busy_s)


class State:
    """Routes that keep every rule, the visits left out, and what both cost."""

    def __init__(self, judge: Judge) -> None:
        self.judge, self.problem = judge, judge.problem
        self.routes: list[Stops] = [()] * len(self.problem.trucks)
        self.unserved: set[int] = set(range(len(self.problem.visits)))
        self.used: Counter[tuple[int, int]] = Counter()

    def copy(self) -> State:
        """An independent copy."""
        twin = State.__new__(State)
        twin.judge, twin.problem = self.judge, self.problem
        twin.routes, twin.unserved, twin.used = list(self.routes), set(self.unserved), Counter(self.used)
        return twin

    def route_cost(self, truck: int, stops: Stops) -> float:
        """Cost of giving a truck other stops; infinite where a rule or the stock forbids it."""
        judged = self.judge(truck, stops)
        if judged.cost == INFEASIBLE or not judged.drawn:
            return judged.cost
        mine = dict(self.judge(truck, self.routes[truck]).drawn)
        for key, ml in judged.drawn:
            if self.used[key] - mine.get(key, 0) + ml > self.judge.limited[key]:
                return INFEASIBLE
        return judged.cost

    def put(self, truck: int, stops: Stops) -> None:
        """Give a truck other stops, which must keep every rule."""
        for key, ml in self.judge(truck, self.routes[truck]).drawn:
            self.used[key] -= ml
        for key, ml in self.judge(truck, stops).drawn:
            self.used[key] += ml
        self.unserved.update(v for v in self.routes[truck] if v >= 0)
        self.unserved.difference_update(stops)
        self.routes[truck] = stops

    @property
    def objective(self) -> float:
        """Cost of the routes, value of what is left out, and the price of unequal shifts."""
        return self._price(0.0)

    @property
    def price(self) -> float:
        """The objective, with required visits that are left out made dearer than any plan."""
        return self._price(self.problem.dear)

    def _price(self, penalty: float) -> float:
        trucks: Any = [self.judge(k, stops) for k, stops in enumerate(self.routes)]
        truck_of: Any = [OUT if v in self.unserved else 0 for v in range(len(self.problem.visits))]
        return day_price(rules_of(self.problem).tables, trucks, truck_of, penalty)

    def solution(self) -> Solution:
        """The state as a finished solution."""
        return Solution(tuple(self.routes), tuple(sorted(self.unserved)), self.objective)


def slack(price: float) -> float:
    """How far a bound may be from a price and count as equal."""
    return CENT + CLOSE * abs(price)


def closed(price: float, bound: float) -> bool:
    """Whether a bound proves that no plan is cheaper than a price."""
    return bound >= price - slack(price)
