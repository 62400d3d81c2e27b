"""Extend partial routes stop by stop, each with the least that it must have cost and taken.

A partial route is timed as early and as short as it can be. Relaxed, all downward: filling takes no spare
syrup and no whole seconds; breaks take time in all, but do not put off what comes after them; work since the
last break counts no waits; a load is weighed trip by trip. Kept: opening hours, the hours until breaks, what
is carried from supply to supply, stock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.planning.exact.floor import RoundFloors
from routing.planning.exact.stock import Drawn
from routing.planning.exact.subsets import Bools, Ints
from routing.planning.problem.problem import Stops, Windows

ROUNDING_S = 1e-3
"""Sums of seconds in another order differ by less."""


@dataclass(frozen=True, slots=True)
class PartialRoute:
    """The beginning of a round: ``stops``, and the set of visits ``served`` as bits.

    ``rank`` is the hygiene rank of the truck. ``money`` counts no waits and breaks; ``clock_s`` is the
    earliest time now; ``start_s`` the latest start; ``busy_s`` the least seconds without waits and breaks;
    ``since_break_s`` those of them since the last of so many ``breaks``. ``carried`` is what was needed since
    the last supply, by kind, and the pails since the last base. ``run`` are the calls before this one without
    a visit between."""

    stops: Stops
    served: int
    rank: int
    money: float
    clock_s: float
    start_s: float
    busy_s: float
    since_break_s: float
    breaks: int
    driven_s: int
    carried: tuple[int, ...]
    drawn: Drawn
    run: tuple[int, ...] = ()

    def waited_s(self) -> float:
        """Seconds that must have been waited, wherever the start is put."""
        return max(0.0, self.clock_s - self.start_s - self.busy_s)


class PartialRoutes:
    """How the partial routes of one truck are extended."""

    def __init__(self, floors: RoundFloors) -> None:
        self.trips, self.calls, self.sets = floors.trips, floors.calls, floors.sets
        self.spec, self.problem, self.truck = floors.spec, floors.sets.problem, floors.truck
        self.stocks = floors.stocks
        self.drive_s = self.problem.drive_rows[self.spec.matrix]
        self.openings = self.problem.openings[self.truck]
        self.service_s = self.problem.service_s[self.truck]
        self.longest_s = min(self.spec.max_s, self.spec.latest_s - self.spec.earliest_s) + ROUNDING_S
        self.forgiven_s = floors.most_breaks * self.spec.break_s
        on_work = self.spec.break_s > 0 and not self.spec.break_on_driving
        self.break_s = self.spec.break_s if on_work else 0
        self.tiring_s = (self.spec.break_after_s if on_work else 10**12) + ROUNDING_S
        kinds = range(len(self.problem.density_g_ml))
        # Of what is filled after a break, so much may really have been aboard before it.
        self.aboard_s = sum(self.calls.spare_ml(s) * self.calls.slowest[s] for s in kinds)

    def nothing(self) -> PartialRoute:
        """A crew that has not started yet."""
        carried = (0,) * (len(self.problem.density_g_ml) + 1)
        drawn = self.stocks.nothing()
        return PartialRoute((), 0, 0, 0.0, self.spec.earliest_s, 1e12, 0.0, 0.0, 0, 0, carried, drawn)

    def spent(self, partial: PartialRoute) -> float:
        """The money, with wages for waits that no break can have filled."""
        idle_s = partial.waited_s() - self.forgiven_s - ROUNDING_S
        return partial.money + max(0.0, idle_s) * self.spec.per_s

    def room_s(self, partial: PartialRoute) -> float:
        """The most seconds, without waits and breaks, that the day still holds."""
        rested_s, left_s = (
            self.tiring_s - partial.since_break_s,
            self.longest_s - partial.busy_s - partial.breaks * self.break_s,
        )
        room = min(rested_s, left_s)
        while self.break_s and rested_s < left_s:
            rested_s, left_s = rested_s + self.tiring_s + self.aboard_s, left_s - self.break_s
            room = max(room, min(rested_s, left_s))
        late = self.longest_s - (partial.clock_s - partial.start_s)
        return min(room, late, self.spec.latest_s + ROUNDING_S - partial.clock_s)

    def criteria(self, partial: PartialRoute) -> tuple[float, ...]:
        """What weighs on all that may follow. Where no part is less, nothing that follows is better.

        Money without wages, hours, breaks and what was worked since, driving, what is carried and drawn.
        """
        return (
            partial.money - self.spec.per_s * partial.busy_s,
            partial.busy_s,
            partial.clock_s,
            -partial.start_s,
            partial.breaks * 1e9 + partial.since_break_s,
            partial.driven_s,
            *partial.carried,
            *partial.drawn.ml,
            *(-ml for ml in partial.drawn.aboard),
        )

    def lawful(self, partial: PartialRoute) -> bool:
        """Whether the hours may still be kept."""
        return partial.driven_s <= self.spec.driving_s and self.room_s(partial) >= 0

    def price(self, partial: PartialRoute) -> float:
        """The least that a whole round costs."""
        spec = self.spec
        work_s = (
            max(partial.busy_s + partial.breaks * self.break_s, partial.clock_s - partial.start_s)
            - ROUNDING_S
        )
        overtime_s = max(0.0, work_s - spec.ordinary_s)
        idle_s = max(0.0, work_s - partial.busy_s)
        return partial.money + spec.fixed + idle_s * spec.per_s + overtime_s * spec.overtime_per_s

    def _worked(self, partial: PartialRoute, seconds: float) -> tuple[float, int]:
        """Seconds since the last break, and breaks, after so much more; a break comes just before it."""
        since, breaks = partial.since_break_s + seconds, partial.breaks
        return (since, breaks) if since <= self.tiring_s else (seconds - self.aboard_s, breaks + 1)

    def visit(self, partial: PartialRoute, here: int, v: int, legs: float) -> PartialRoute | None:
        """Drive to a visit and serve it; None when it is too late for it.

        Parameters
        ----------
        partial : PartialRoute
        here : int
            The place where the truck stands.
        v : int
            The visit.
        legs : float
            Money for the way there.
        """
        drive_s, stand_s = self.drive_s[here][self.trips.places[v]], self.service_s[v]
        begin = _first(self.openings[v], partial.clock_s + drive_s, 0.0)
        if begin is None:
            return None
        start = min(partial.start_s, self.openings[v][-1][1] - partial.busy_s - drive_s)
        since, breaks = self._worked(partial, drive_s + stand_s)
        if since > self.tiring_s:
            return None
        return PartialRoute(
            (*partial.stops, v),
            partial.served | 1 << v,
            self.sets.rank[v],
            partial.money + legs + self.trips.service[v],
            begin + stand_s,
            start,
            partial.busy_s + drive_s + stand_s,
            since,
            breaks,
            partial.driven_s + drive_s,
            partial.carried,
            partial.drawn,
        )

    def arrive(self, partial: PartialRoute, here: int, place: int, legs: float) -> PartialRoute:
        """Drive from a place to a depot's place; ``legs`` is the money for the way."""
        drive_s = self.drive_s[here][place]
        since, breaks = self._worked(partial, drive_s)
        return PartialRoute(
            partial.stops,
            partial.served,
            partial.rank,
            partial.money + legs,
            partial.clock_s + drive_s,
            partial.start_s,
            partial.busy_s + drive_s,
            since,
            breaks,
            partial.driven_s + drive_s,
            partial.carried,
            partial.drawn,
        )

    def leave(
        self, partial: PartialRoute, call: int, subset: int, end: int, washes: bool
    ) -> PartialRoute | None:
        """Loaded for a trip to a subset and ready to go; None when it is too late or too much is taken.

        Parameters
        ----------
        partial : PartialRoute
            Standing at the call.
        call, end : int
            The depot calls where the trip begins and ends, numbered as in ``Calls``; an end of 0 is home.
        subset : int
            The visits of the trip, as bits.
        washes : bool
            Whether the truck washes down before it goes.
        """
        carried = self._carry(partial, call, subset)
        drawn = self.stocks.draw(partial.drawn, call, subset, end)
        if carried is None or drawn is None:
            return None
        depot = self.problem.depots[self.calls.depots[call]]
        stands_s = float(self.calls.fill_s[call, subset]) + (self.problem.wash_s if washes else 0)
        money = float(self.trips.loading[call, subset]) + (self.trips.wash[call] if washes else 0.0)
        clock, start = partial.clock_s, partial.start_s
        surely = bool(self.calls.loads_surely[call, subset])
        if call or surely:
            begin = _first(depot.windows, clock, max(0.0, stands_s) if depot.leave_by else 0.0)
            if begin is None:
                return None
            clock, start = begin, min(start, depot.windows[-1][1] - partial.busy_s)
        if surely:
            clock = max(clock, self._stocked_s(call, subset))
        clock = max(clock + stands_s, float(self.sets.release_s[subset]))
        since, breaks = self._worked(partial, stands_s)
        return PartialRoute(
            partial.stops,
            partial.served,
            partial.rank,
            partial.money + money,
            clock,
            start,
            partial.busy_s + stands_s,
            since,
            breaks,
            partial.driven_s,
            carried,
            drawn,
        )

    def _stocked_s(self, call: int, subset: int) -> float:
        """When all that is surely loaded is there."""
        depot, opens = self.problem.depots[self.calls.depots[call]], -1e9
        for kind, supply in enumerate(depot.supplies):
            level = self.spec.level_ml[kind] if call == 0 else self.calls.spare_ml(kind)
            pails = depot.pails and self.sets.pails_of[kind][subset] > 0
            if supply and (self.sets.bulk_ml[kind][subset] > level or pails):
                opens = max(opens, supply.from_s)
        return opens

    def holds(self, partial: PartialRoute, call: int, subsets: Ints) -> Bools:
        """Which trips from a call the truck can hold, with what it carries since the last supply."""
        depot, sets = self.problem.depots[self.calls.depots[call]], self.sets
        found: Bools = np.ones(len(subsets), dtype=bool)
        for kind, supply in enumerate(depot.supplies):
            if supply is None:
                most = self.spec.capacity_ml[kind] if call else self.spec.level_ml[kind]
                found &= sets.bulk_ml[kind][subsets] + partial.carried[kind] <= most
        if not depot.pails:
            found &= sets.pails[subsets] + partial.carried[-1] <= (self.spec.pail_slots if call else 0)
        for kind, pails in enumerate(sets.pails_of if call == 0 else ()):
            found &= ((kind, True) in self.calls.offers(0)) | (pails[subsets] == 0)
        return found & self.stocks.allows(partial.drawn, call, subsets)

    def _carry(self, partial: PartialRoute, call: int, subset: int) -> tuple[int, ...] | None:
        """What must have been aboard since the last supply; None when that is more than the truck holds."""
        depot, spec = self.problem.depots[self.calls.depots[call]], self.spec
        carried = []
        for kind, supply in enumerate(depot.supplies):
            before = 0 if supply else partial.carried[kind]
            need = before + int(self.sets.bulk_ml[kind][subset])
            if need > spec.capacity_ml[kind] or (call == 0 and not supply and need > spec.level_ml[kind]):
                return None
            carried.append(need)
        pails = (0 if depot.pails else partial.carried[-1]) + int(self.sets.pails[subset])
        if pails > spec.pail_slots or (call == 0 and not depot.pails and pails):
            return None
        return (*carried, pails)


def _first(windows: Windows, at: float, stay_s: float) -> float | None:
    """The first time from ``at`` on in a window that a stay fits, with a second's grace for rounding."""
    for a, b in windows:
        if at <= b - stay_s + 1.0 and a <= b - stay_s + 1.0:
            return max(at, a)
    return None
