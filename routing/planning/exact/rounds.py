"""List every round of a truck that could be part of a plan cheaper than a target, judged exactly.

Stops are tried in every order, trip by trip. A partial route is pruned when, for each set of visits that the
round may come to, its floor and the least that must still come (in this round, from the other trucks, for the
visits left out) reach the target, or the least time that the rest takes is more than the day holds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from operator import le

import numpy as np

from routing.planning.evaluate.state import INFEASIBLE, Drawn, Judge
from routing.planning.exact.floor import RoundFloors, Tick
from routing.planning.exact.partial_routes import PartialRoute, PartialRoutes
from routing.planning.exact.subsets import Floats, Ints
from routing.planning.problem.problem import Stops, depot_stop

TICK_EVERY = 32
MOST_FAILURES = 40


@dataclass(frozen=True, slots=True)
class Round:
    """One round under the exact rules."""

    stops: Stops
    cost: float
    work_s: int
    drawn: Drawn


Front = list[tuple[float, float]]
"""What may come after a trip: least money and least seconds, cheapest first; none has more of both."""


_Option = tuple[float, int, int, Floats, Floats, Ints]
"""A trip: the least price with it, its end and visits; and by what may be served after it the least
money and seconds of that, and the visits."""


def _by_trip(
    end: int, least: Floats, trip: Ints, after: Floats, after_s: Floats, rest: Ints
) -> list[_Option]:
    """One option for each trip."""
    order = np.lexsort((after, trip))
    cuts = np.flatnonzero(np.diff(trip[order])) + 1
    groups = np.split(order, cuts) if len(order) else []
    return [(float(least[g].min()), end, int(trip[g[0]]), after[g], after_s[g], rest[g]) for g in groups]


def _front(after: Floats, after_s: Floats) -> Front:
    """Those of which no other, earlier in the list, has as few seconds."""
    front: Front = []
    for money, seconds in zip(after.tolist(), after_s.tolist(), strict=True):
        if not front or seconds < front[-1][1]:
            front.append((money, seconds))
    return front


class Failures:
    """Partial routes from which no round worth judging was reached, by where they stand and what is left.

    A partial route that one of them dominates, at the same place with the same left, reaches none either:
    every floor and limit that stopped the first stops it as early."""

    def __init__(self) -> None:
        self._criteria: dict[object, list[tuple[float, ...]]] = {}

    def known(self, key: object, criteria: tuple[float, ...]) -> bool:
        """Whether one that dominates these criteria has failed."""
        return any(all(map(le, old, criteria)) for old in self._criteria.get(key, ()))

    def add(self, key: object, criteria: tuple[float, ...]) -> None:
        """Remember a failure."""
        kept = self._criteria.setdefault(key, [])
        better = [old for old in kept if not all(map(le, criteria, old))]
        kept[:] = [*better[-MOST_FAILURES:], criteria]


class Rounds:
    """The search for the rounds of one truck.

    ``elsewhere`` is by the subset that this truck serves what everything else costs at least; ``alone`` says
    that it is the only truck, so that every round found is a plan and lowers the target.
    """

    def __init__(
        self, floors: RoundFloors, judge: Judge, elsewhere: Floats, target: float, alone: bool, tick: Tick
    ) -> None:
        self.floors, self.judge, self.tick = floors, judge, tick
        self.elsewhere, self.target, self.alone = elsewhere, target, alone
        self.trips, self.calls, self.sets = floors.trips, floors.calls, floors.sets
        self.spec, self.problem, self.truck = floors.spec, floors.sets.problem, floors.truck
        self.extend = PartialRoutes(floors)
        self.found: dict[int, list[Round]] = {}
        self.balanced = self.problem.balance_per_s > 0 and len(self.problem.trucks) > 1
        self.simple = not judge.limited and not self.balanced
        self.total = floors.extra + elsewhere
        self.steps = self.judged = 0
        self.failed = Failures()
        self.onward = [table.tolist() for table in self.trips.onward]
        self.onward_s = [table.tolist() for table in floors.hours.onward]
        self.legs = (self.trips.between.tolist(), self.trips.out.tolist())
        self.legs_g = (self.trips.between_g.tolist(), self.trips.out_g.tolist())
        self.legs_s = (floors.hours.between.tolist(), floors.hours.out.tolist())
        self.back, self.mass = self.trips.back.tolist(), self.sets.mass_g.tolist()

    def search(self) -> dict[int, list[Round]]:
        """All rounds worth having by the visits served; none is dearer than another that is like it."""
        self._call(self.extend.nothing(), 0)
        return self.found

    def _count(self) -> None:
        self.steps += 1
        if self.steps % TICK_EVERY == 0:
            self.tick()

    def _call(self, partial: PartialRoute, call: int) -> None:
        """At a depot call: go on, unless one that dominates it has led to nothing."""
        key, before = (call, partial.served, partial.rank, partial.run), self.judged
        criteria = self.extend.criteria(partial)
        if not self.failed.known(key, criteria):
            self._go_on(partial, call)
            if self.judged == before:
                self.failed.add(key, criteria)

    def _go_on(self, partial: PartialRoute, call: int) -> None:
        """Choose what the trip from a call serves, and where it ends."""
        self._count()
        spent, room_s = self.extend.spent(partial), self.extend.room_s(partial)
        more = self.sets.parts[self.sets.everything ^ partial.served][1:]
        price = self.floors.rest.floor[call, partial.rank, more] + self.total[partial.served | more]
        worth = (spent + price < self.target) & (self.floors.rest_s.floor[call, partial.rank, more] <= room_s)
        worth[worth] = self.floors.stocks.enough(partial.drawn, more[worth])
        if worth.any():
            self._trips(partial, call, more[worth], spent, room_s)
            self._run_on(partial, call, more[worth])

    def _trips(self, partial: PartialRoute, call: int, more: Ints, spent: float, room_s: float) -> None:
        """Try every trip, and its end, of a round that serves one of ``more`` from here on."""
        options = self._options(partial, call, more, spent, room_s)
        for least, end, subset, after, after_s, rest in sorted(options, key=lambda option: option[:3]):
            if least >= self.target:
                return
            left = self.extend.leave(
                partial, call, subset, end, int(self.sets.cleanest[subset]) < partial.rank
            )
            if left is not None:
                able = self.floors.stocks.enough(left.drawn, rest)
                front = _front(after[able], after_s[able])
                if front:
                    self._serve(left, subset, end, front, self.trips.from_places[call], (1, call))

    def _options(
        self, partial: PartialRoute, call: int, more: Ints, spent: float, room_s: float
    ) -> list[_Option]:
        """Trips and their ends, each with what may come after it, within the target and the hours."""
        sets, floors = self.sets, self.floors
        parts = sets.parts[int(np.bitwise_or.reduce(more))]
        parts = parts[self.trips.fits[parts]]
        able = np.zeros(sets.count, dtype=bool)
        able[parts[self.extend.holds(partial, call, parts)]] = True
        trip = np.concatenate([sets.parts[some] for some in more.tolist()])
        some = np.repeat(more, [len(sets.parts[some]) for some in more.tolist()])[able[trip]]
        trip = trip[able[trip]]
        rest, foulest, total = some ^ trip, sets.foulest[trip], self.total[partial.served | some]
        wash = min(self.trips.wash[call], 1e15) if call else 1e15
        before = spent + np.where(sets.cleanest[trip] < partial.rank, wash, 0.0)
        found: list[_Option] = []
        for end in range(len(self.trips.to_places)):
            after, after_s = total, np.zeros(len(trip))
            if end:
                after, after_s = (
                    total + floors.rest.floor[end, foulest, rest],
                    floors.rest_s.floor[end, foulest, rest],
                )
            least = before + self.trips.floor[call, end, trip] + after
            good = (least < self.target) & (floors.hours.floor[call, end, trip] + after_s <= room_s)
            good &= (rest > 0) == (end > 0)
            if not partial.rank:
                good &= ~self.calls.idle(call, end)[trip]
            found += _by_trip(end, *(array[good] for array in (least, trip, after, after_s, rest)))
        return found

    def _run_on(self, partial: PartialRoute, call: int, more: Ints) -> None:
        """Go on to another call at once. Each call of a run supplies what no later one does, or washes."""
        here = self.trips.from_places[call]
        for onward in range(1, len(self.trips.from_places)):
            run = (*partial.run, call)
            # A call where the day begins, before all else, is no other than loading at the start.
            again = not partial.stops and self.calls.depots[onward] == self.spec.start
            if again or not self._useful(run, onward, self._fouled(partial)):
                continue
            for washes in (False, True) if call and partial.rank and self.calls.can_wash(call) else (False,):
                left = self.extend.leave(partial, call, 0, onward, washes)
                if left is not None:
                    legs = float(self.trips.idle_run[call, onward])
                    there = self.extend.arrive(left, here, self.trips.from_places[onward], legs)
                    self._arrive(replace(there, rank=0 if washes else partial.rank, run=run), onward)

    def _fouled(self, partial: PartialRoute) -> bool:
        """Whether the last visit left the truck in want of a wash."""
        return next((self.sets.rank[v] > 0 for v in reversed(partial.stops) if v >= 0), False)

    def _useful(self, run: tuple[int, ...], onward: int, fouled: bool) -> bool:
        """Whether every call of a run but the start may supply what no later one does, or be for a wash."""
        later = self.calls.offers(onward)
        washed = not fouled
        for call in reversed(run):
            offers = self.calls.offers(call)
            if call and offers <= later:
                if washed or not self.calls.can_wash(call):
                    return False
                washed = True
            later = later | offers
        return True

    def _next(
        self, partial: PartialRoute, left: int, end: int, front: Front, here: int, row: tuple[int, int]
    ) -> None:
        """Go on with a trip, unless one that dominates it has led to nothing."""
        key, criteria, before = (end, partial.served, left, row), self.extend.criteria(partial), self.judged
        if not self.failed.known(key, criteria):
            self._serve(partial, left, end, front, here, row)
            if self.judged == before:
                self.failed.add(key, criteria)

    def _serve(
        self, partial: PartialRoute, left: int, end: int, front: Front, here: int, row: tuple[int, int]
    ) -> None:
        """Try each visit that is left of the trip as the next; ``row`` is where the legs from here stand."""
        self._count()
        spent, room_s = self.extend.spent(partial), self.extend.room_s(partial)
        served, mass = partial.served | left, self.mass[left]
        legs, legs_g = self.legs[row[0]][row[1]], self.legs_g[row[0]][row[1]]
        legs_s, onward_s = self.legs_s[row[0]][row[1]], self.onward_s[end][left]
        limit = self._limit(end, served)
        choices = []
        for v, rest in enumerate(self.onward[end][left]):
            if left >> v & 1:
                least, hours = spent + legs[v] + mass * legs_g[v] + rest, legs_s[v] + onward_s[v]
                after = next((a for a, s in front if hours + s <= room_s), np.inf)
                if least + after < limit:
                    choices.append((least + after, v))
        for least, v in sorted(choices):
            if least >= self._limit(end, served):
                return
            there = self.extend.visit(partial, here, v, legs[v] + mass * legs_g[v])
            if there is None:
                continue
            rest = left ^ (1 << v)
            if rest:
                self._next(there, rest, end, front, self.trips.places[v], (0, v))
            else:
                self._end(there, end, front, v)

    def _limit(self, end: int, served: int) -> float:
        """What the floor must stay under; for the last trip, that of the best round to the same visits."""
        if end or not self.simple or served not in self.found:
            return self.target
        return min(self.target, self.found[served][0].cost + float(self.elsewhere[served]))

    def _end(self, partial: PartialRoute, end: int, front: Front, last: int) -> None:
        """The trip is done: home, or on to the next call."""
        place = self.trips.to_places[end]
        there = self.extend.arrive(partial, self.trips.places[last], place, self.back[last][end])
        if end:
            self._arrive(there, end)
        elif self.extend.lawful(there):
            price = self.extend.price(there) + float(self.elsewhere[there.served])
            if price < self._limit(end, there.served):
                self._judge(there)

    def _arrive(self, partial: PartialRoute, call: int) -> None:
        if self.extend.lawful(partial):
            stops = (*partial.stops, depot_stop(self.calls.depots[call]))
            self._call(replace(partial, stops=stops), call)

    def _judge(self, partial: PartialRoute) -> None:
        """Keep a whole round if it is lawful and no round kept is as good in every way that counts."""
        self.judged += 1
        judged = self.judge(self.truck, partial.stops)
        price = judged.cost + float(self.elsewhere[partial.served])
        if judged.cost == INFEASIBLE or price >= self.target or not self._in_stock(judged.drawn):
            return
        new = Round(partial.stops, judged.cost, judged.work_s, judged.drawn)
        kept = self.found.setdefault(partial.served, [])
        if not any(self._no_worse(old, new) for old in kept):
            kept[:] = [old for old in kept if not self._no_worse(new, old)] + [new]
            if self.alone:
                self.target = price

    def _in_stock(self, drawn: Drawn) -> bool:
        return all(ml <= self.judge.limited[key] for key, ml in drawn)

    def _no_worse(self, a: Round, b: Round) -> bool:
        if a.cost > b.cost or (self.balanced and a.work_s != b.work_s):
            return False
        more = dict(b.drawn)
        return all(ml <= more.get(key, 0) for key, ml in a.drawn)
