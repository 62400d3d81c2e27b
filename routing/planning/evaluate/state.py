"""A day under construction: routes with their exact cost, the visits left out, the stock drawn."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from routing.planning.evaluate.accounts import account
from routing.planning.evaluate.insertion_slack import Room, least_loading_s, room_of
from routing.planning.evaluate.loads import Fault
from routing.planning.evaluate.schedule import Timing, time_route
from routing.planning.problem.problem import Problem, Solution, Stops, TruckSpec

Drawn = tuple[tuple[tuple[int, int], int], ...]
INFEASIBLE = float("inf")
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
        self._rooms: dict[tuple[int, Stops], Room] = {}
        self.mass_g, self.least_loading_s = problem.mass_g, least_loading_s(problem)
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
            if len(self._known) > 400_000:
                self._known.clear()
            found = self._known[key] = self._judge(truck, stops)
        return found

    def room(self, truck: int, stops: Stops) -> Room:
        """What a route has room for at each of its places."""
        key = (truck, stops)
        found = self._rooms.get(key)
        if found is None:
            if len(self._rooms) > 20_000:
                self._rooms.clear()
            found = self._rooms[key] = room_of(self.problem, self.mass_g, truck, stops)
        return found

    def _judge(self, truck: int, stops: Stops) -> Judged:
        if not stops and not self.problem.trucks[truck].on_the_clock:
            return Judged(0.0, None, 0, ())
        timing = time_route(self.problem, truck, stops)
        if timing.fault and not stops:
            # It has to come home all the same; no plan can do it within the rules.
            return Judged(0.0, None, 0, ())
        if timing.fault:
            return Judged(INFEASIBLE, timing.fault, 0, ())
        cost = account(self.problem, truck, stops, timing).total
        if self.problem.habit is not None:
            cost += self.problem.habit.price(truck, stops)
        drawn = drawn_ml(self.problem.trucks[truck], stops, timing) if self.limited else Counter()
        limited = tuple(sorted((k, v) for k, v in drawn.items() if k in self.limited))
        return Judged(cost, None, timing.work_s, limited, self._busy_s(truck, timing))

    def _busy_s(self, truck: int, timing: Timing) -> int:
        spec, margin = self.problem.trucks[truck], self.problem.margin
        busy = sum(timing.drive_s) + sum(timing.service_s)
        if margin:
            busy -= int(sum(timing.service_s[i] for i in timing.loads.loading) * margin / (1 + margin)) + 1
        if spec.break_s and not spec.break_on_driving:
            breaks = -(-(busy + spec.tired_s) // spec.break_after_s) - 1
            busy += max(0, breaks) * spec.break_s
        return max(0, busy)


def drawn_ml(truck: TruckSpec, stops: Stops, timing: Timing) -> Counter[tuple[int, int]]:
    """Millilitres taken by a route, by (depot, commodity)."""
    drawn: Counter[tuple[int, int]] = Counter()
    for i, loading in timing.loads.loading.items():
        depot = truck.start if i == 0 else -1 - stops[i - 1]
        for s, ml in enumerate(loading.bulk_ml):
            if taken := ml + loading.pail_ml[s]:
                drawn[depot, s] += taken
    return drawn


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
        judged = [j for k, stops in enumerate(self.routes) if (j := self.judge(k, stops)).work_s]
        total = sum(j.cost for j in judged) + sum(self.problem.visits[v].value for v in self.unserved)
        if self.problem.balance_per_s and len(judged) > 1:
            work = [j.work_s for j in judged]
            total += self.problem.balance_per_s * (max(work) - min(work))
        return total

    @property
    def price(self) -> float:
        """The objective, with required visits that are left out made dearer than any plan."""
        missed = sum(self.problem.visits[v].required for v in self.unserved)
        return self.objective + self.problem.dear * missed

    def solution(self) -> Solution:
        """The state as a finished solution."""
        return Solution(tuple(self.routes), tuple(sorted(self.unserved)), self.objective)


def slack(price: float) -> float:
    """How far a bound may be from a price and count as equal."""
    return CENT + CLOSE * abs(price)


def closed(price: float, bound: float) -> bool:
    """Whether a bound proves that no plan is cheaper than a price."""
    return bound >= price - slack(price)
