"""Floors of what a truck's whole round costs, for every subset of visits, from the floors of its trips."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy import float64
from numpy.typing import NDArray

from routing.planning.exact.stock import Stocks
from routing.planning.exact.subsets import Floats, Subsets
from routing.planning.exact.trips import SECONDS, Calls, Trips, money

Tick = Callable[[], None]
"""Called now and then; it raises when time is up."""
TICK_EVERY = 64


class Rest:
    """Floors of the rest of a round, from a depot call on, serving exactly a subset.

    ``floor[call, rank, subset]``: the truck comes to the call with a hygiene rank. The legs and filling of a
    run of calls are in. Which visits were served before does not matter but for the rank.
    """

    def __init__(self, trips: Trips, tick: Tick) -> None:
        self.trips, self.sets = trips, trips.sets
        self.calls, self.ranks = len(trips.from_places), trips.sets.ranks
        self.floor = np.full((self.calls, self.ranks, self.sets.count), np.inf)
        self._runs = self._shortest_runs()
        # By where a trip ends: home, with nothing left to serve, or another call.
        self._after: NDArray[float64] = np.full((self.calls, self.ranks, self.sets.count), np.inf)
        self._after[0, :, 0] = 0.0
        for subset in range(1, self.sets.count):
            if subset % TICK_EVERY == 0:
                tick()
            self._fill(subset)

    def _shortest_runs(self) -> Floats:
        """Least from (call, rank) to (call, rank) by calls without a visit between, washes among them."""
        size = self.calls * self.ranks
        found = np.full((self.calls, self.ranks, self.calls, self.ranks), np.inf)
        legs = self.trips.idle_run + self.trips.loading[:, :1]
        for rank in range(self.ranks):
            found[:, rank, 1:, rank] = legs[:, 1:]
            if rank:
                found[:, rank, 1:, 0] = legs[:, 1:] + np.array(self.trips.wash)[:, None]
        flat = found.reshape(size, size)
        flat[np.arange(size), np.arange(size)] = 0.0
        for via in range(size):
            flat = np.minimum(flat, flat[:, via : via + 1] + flat[via : via + 1])
        return flat

    def _fill(self, subset: int) -> None:
        parts = self.sets.parts[subset]
        parts = parts[self.trips.fits[parts]]
        if not len(parts):
            return
        after = self._after[:, self.sets.foulest[parts], subset ^ parts]
        through = (self.trips.floor[:, :, parts] + after).min(axis=1)
        here = np.empty((self.calls, self.ranks))
        cleanest = self.sets.cleanest[parts]
        for rank in range(self.ranks):
            washed = (
                through + np.where(cleanest < rank, 1.0, 0.0) * np.minimum(1e15, self.trips.wash)[:, None]
            )
            here[:, rank] = washed.min(axis=1)
        here[here > 1e14] = np.inf
        flat = (self._runs + here.reshape(1, -1)).min(axis=1)
        self.floor[:, :, subset] = flat.reshape(self.calls, self.ranks)
        self._after[1:, :, subset] = self.floor[1:, :, subset]


class RoundFloors:
    """Floors for one truck: of the cost of serving exactly a subset, and of what is certain besides legs."""

    def __init__(self, sets: Subsets, truck: int, tick: Tick) -> None:
        self.sets, self.truck = sets, truck
        self.spec = spec = sets.problem.trucks[truck]
        self.calls = Calls(sets, truck)
        self.trips = Trips(self.calls, money(spec))
        self.rest = Rest(self.trips, tick)
        self.hours = Trips(self.calls, SECONDS)
        self.rest_s = Rest(self.hours, tick)
        busy = self.rest_s.floor[0, 0]
        self.breaks = self._breaks(busy)
        work_s = busy + self.breaks * spec.break_s
        longest_s = min(spec.max_s, spec.latest_s - spec.earliest_s)
        within = work_s <= longest_s + 1e-6
        # What no round can serve has no overtime: where that is free, it would be infinity times nothing.
        overtime_s = np.maximum(0.0, np.where(within, work_s, 0.0) - spec.ordinary_s)
        self.extra = np.where(
            within,
            spec.fixed + self.breaks * spec.break_s * spec.per_s + overtime_s * spec.overtime_per_s,
            np.inf,
        )
        """Fixed cost, breaks and overtime of a round at least; infinite past the longest day or the stock."""
        self.stocks = Stocks(self.calls)
        self.extra[~self.stocks.enough(self.stocks.nothing(), np.arange(sets.count))] = np.inf
        self.extra[0] = 0.0
        self.cost = self.rest.floor[0, 0] + self.extra
        self.cost[0] = 0.0
        lawful = np.isfinite(self.cost) & (np.arange(sets.count) > 0)
        self.most_breaks = float(self.breaks[lawful].max(initial=0.0))

    def _breaks(self, busy: Floats) -> Floats:
        """The least number of breaks in a round of so many seconds without them."""
        spec = self.spec
        if not spec.break_s or spec.break_on_driving:
            return np.zeros(self.sets.count)
        known = np.where(np.isfinite(busy), busy, 0.0)
        breaks: Floats = np.maximum(0.0, np.ceil((known - 1e-6) / spec.break_after_s) - 1)
        return breaks
