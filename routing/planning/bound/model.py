"""Say what a bound knows of one kind of truck: its ways between visits, its resources, its hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.planning.bound.cargo import Cargo
from routing.planning.bound.numbers import FAR, Floats
from routing.planning.problem.problem import TruckSpec


@dataclass(frozen=True, eq=False)
class Way:
    """One way from each visit to each (``seconds``, ``money``; from the start in the last row).

    ``gain`` is what it adds to the amount of each resource that the round may use, ``first_gain`` where it
    begins the round; ``calls`` tells whether it calls at a depot to load. Seconds and money hold the visit
    it leads to. FAR marks what is forbidden.
    """

    seconds: Floats
    money: Floats
    gain: Floats
    first_gain: Floats
    calls: bool


@dataclass(frozen=True, eq=False)
class TruckModel:
    """The rounds of ``count`` like trucks over ``visits`` (positions in the problem).

    ``use`` holds what each visit (row) uses of each resource (column); no round may use more than the
    ``gain`` of its ways. ``home_s`` and ``home_money`` lead to the end. ``credit_s`` of loading may have
    been done before the day. ``idle`` is what a truck costs that goes nowhere; ``standing`` the money in the
    ways that each visit costs wherever the truck comes from; ``latest_s`` the time after the
    start by which it must be left. The last ``shared`` resources are stocks that all models share.
    """

    truck: int
    count: int
    visits: tuple[int, ...]
    ways: tuple[Way, ...]
    use: Floats
    home_s: Floats
    home_money: Floats
    spec: TruckSpec
    credit_s: float
    idle: float
    standing: Floats
    latest_s: Floats
    cargo: Cargo
    shared: int

    @property
    def longest_s(self) -> int:
        """The longest that a round may last."""
        return min(self.spec.max_s, self.spec.latest_s - self.spec.earliest_s)

    @property
    def spared(self) -> float:
        """Money that loading done before the day may save."""
        return self.credit_s * (self.spec.per_s + self.spec.idle_l_per_s * self.spec.fuel_price)

    def busy_by(self, elapsed_s: float) -> float:
        """The longest busy time that may have passed, with the breaks it calls for, in some elapsed time."""
        spec = self.spec
        if not spec.break_s or spec.break_on_driving:
            return elapsed_s
        most, rests = 0.0, 0
        while elapsed_s - rests * spec.break_s > 0 and rests < 100:
            limit_s = (rests + 1) * spec.break_after_s - spec.tired_s
            most = max(most, min(elapsed_s - rests * spec.break_s, limit_s))
            rests += 1
        return most

    def closing(self, seconds: Floats) -> Floats:
        """What breaks, overtime and setting out add to a round that keeps its crew busy for so long.

        FAR where that is longer than the law allows. Wages for the busy time are in the ways.
        """
        spec = self.spec
        busy = np.maximum(0.0, seconds - self.credit_s)
        rests = np.zeros_like(busy)
        if spec.break_s and not spec.break_on_driving:
            tired = (busy + spec.tired_s - 1e-6) / spec.break_after_s
            rests = np.maximum(0.0, np.ceil(tired) - 1.0) * spec.break_s
        work = busy + rests
        over = np.maximum(0.0, work - spec.ordinary_s) * spec.overtime_per_s
        money = spec.fixed + rests * spec.per_s + over - self.spared
        return np.where(work > self.longest_s + 1e-6, FAR, money)
