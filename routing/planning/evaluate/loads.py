"""Decide what a truck takes aboard at each depot of a given route, and weigh it on every leg."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from routing.planning.problem.problem import Problem, Stops, depot_stop


class Fault(StrEnum):
    """The first rule that a sequence of stops breaks."""

    ACCESS = "access"
    TANK = "tank"
    SLOTS = "slots"
    WEIGHT = "weight"
    GATE_WEIGHT = "gate_weight"
    SUPPLY = "supply"
    IDLE_REFILL = "idle_refill"
    HYGIENE = "hygiene"
    WINDOW = "window"
    SHIFT = "shift"
    DRIVING = "driving"
    BREAK = "break"
    STOCK = "stock"


@dataclass(frozen=True, slots=True)
class Loading:
    """What is taken aboard at one depot call, per commodity."""

    bulk_ml: tuple[int, ...]
    pail_ml: tuple[int, ...]
    pails: tuple[int, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing is taken aboard."""
        return not any(self.bulk_ml) and not any(self.pails)


@dataclass(slots=True)
class Loads:
    """Loads along a route; point 0 is the start depot, point i the i-th stop.

    ``pails_full``, ``pails_empty`` and ``gross_g`` hold on leaving a point. After a fault the lists end
    where it was found.
    """

    fault: Fault | None
    loading: dict[int, Loading]
    washes: set[int]
    pails_full: list[int]
    pails_empty: list[int]
    gross_g: list[float]


def plan_loads(problem: Problem, truck: int, stops: Stops) -> Loads:
    """Loads for a route, with the spare share of syrup unless it would break a weight limit."""
    points = (depot_stop(problem.trucks[truck].start), *stops)
    wanted, before = _needs(problem, points)
    spec = problem.trucks[truck]
    aboard = spec.pails_aboard or (0,) * len(before.pails)
    volume = spec.pail_ml_aboard or (0,) * len(before.pails)
    if any(n > have for n, have in zip((*before.pails, *before.pail_ml), (*aboard, *volume), strict=True)):
        return Loads(Fault.SUPPLY, {}, set(), [], [], [])
    loads = _Route(problem, truck, points, wanted).carry(problem.margin)
    if problem.margin and loads.fault in (Fault.WEIGHT, Fault.GATE_WEIGHT):
        loads = _Route(problem, truck, points, wanted).carry(0.0)
    return loads


@dataclass(slots=True)
class _Wanted:
    """What a depot call must supply: to pump, in pails, and how many pails, by commodity."""

    bulk_ml: list[int]
    pail_ml: list[int]
    pails: list[int]


def _needs(problem: Problem, points: Stops) -> tuple[dict[int, _Wanted], _Wanted]:
    """What each depot call must supply, so that every pour until the next supply of it is covered.

    Also what is asked for that no depot call before it can give: it must be aboard from the first.
    """
    kinds = range(len(problem.density_g_ml))
    need = _Wanted(*([0] * len(kinds) for _ in range(3)))
    wanted = {}
    for i in range(len(points) - 1, -1, -1):
        stop = points[i]
        if stop >= 0:
            visit = problem.visits[stop]
            for s in kinds:
                need.bulk_ml[s] += visit.bulk_ml[s]
            if visit.pails:
                for s in kinds:
                    need.pail_ml[s] += visit.pail_ml[s]
                    need.pails[s] += visit.pails[s]
            continue
        depot = problem.depots[-1 - stop]
        wanted[i] = take = _Wanted(*([0] * len(kinds) for _ in range(3)))
        for s in kinds:
            if depot.supplies[s] is None:
                continue
            take.bulk_ml[s], need.bulk_ml[s] = need.bulk_ml[s], 0
            if depot.pails:
                take.pail_ml[s], need.pail_ml[s] = need.pail_ml[s], 0
                take.pails[s], need.pails[s] = need.pails[s], 0
    return wanted, need


class _Route:
    """The running state of one truck while its loads are laid out, until the first fault."""

    def __init__(self, problem: Problem, truck: int, points: Stops, wanted: dict[int, _Wanted]) -> None:
        spec = problem.trucks[truck]
        self.problem, self.truck, self.spec = problem, truck, spec
        self.points, self.wanted = points, wanted
        self.lowest = _lowest_rank_after(problem, points)
        self.level = list(spec.level_ml)
        self.full, self.empty, self.rank = sum(spec.pails_aboard), spec.empties_aboard, spec.rank
        self.gross_g: float = spec.tare_g + self._mass_g(self.level)
        if spec.pails_aboard or spec.empties_aboard:
            self.gross_g += (self.full + self.empty) * problem.pail_g + self._mass_g(spec.pail_ml_aboard)

    def _mass_g(self, amounts_ml: Sequence[int]) -> float:
        return sum(ml * d for ml, d in zip(amounts_ml, self.problem.density_g_ml, strict=False))

    def carry(self, margin: float) -> Loads:
        """Go from point to point; a share ``margin`` more than needed is pumped aboard where it may be."""
        loads = Loads(None, {}, set(), [], [], [])
        for i, stop in enumerate(self.points):
            fault = self._serve(stop) if stop >= 0 else self._call(i, stop, margin, loads)
            if fault:
                loads.fault = fault
                return loads
            loads.pails_full.append(self.full)
            loads.pails_empty.append(self.empty)
            loads.gross_g.append(self.gross_g)
        return loads

    def _serve(self, index: int) -> Fault | None:
        visit = self.problem.visits[index]
        if visit.trucks is not None and self.truck not in visit.trucks:
            return Fault.ACCESS
        if visit.max_gross_g is not None and self.gross_g > visit.max_gross_g + 0.5:
            return Fault.GATE_WEIGHT
        if visit.rank < self.rank:
            return Fault.HYGIENE
        self.rank = visit.rank
        level = self.level
        for s, ml in enumerate(visit.bulk_ml):
            level[s] -= ml
            if level[s] < 0:
                return Fault.SUPPLY
        self.gross_g -= self.problem.relief_g[index]
        if visit.pails:
            self.full -= visit.pail_count
            self.empty += visit.empties
            if self.full + self.empty > self.spec.pail_slots:
                return Fault.SLOTS
        return None

    def _call(self, i: int, stop: int, margin: float, loads: Loads) -> Fault | None:
        depot, wanted, spec = self.problem.depots[-1 - stop], self.wanted[i], self.spec
        if depot.pails:
            self.gross_g -= self.empty * self.problem.pail_g
            self.empty = 0
        taken = [max(0, want - have) for want, have in zip(wanted.bulk_ml, self.level, strict=True)]
        self._take(taken)
        for s, capacity in enumerate(spec.capacity_ml):
            if self.level[s] > capacity:
                return Fault.TANK
        pails = sum(wanted.pails)
        if pails:
            self.full += pails
            self.gross_g += pails * self.problem.pail_g + self._mass_g(wanted.pail_ml)
        if self.full + self.empty > spec.pail_slots:
            return Fault.SLOTS
        if margin:
            spare = self._spare(taken, wanted.bulk_ml, margin)
            self._take(spare)
            taken = [a + b for a, b in zip(taken, spare, strict=True)]
        if self.gross_g > spec.gross_g + 0.5:
            return Fault.WEIGHT
        loads.loading[i] = loading = Loading(tuple(taken), tuple(wanted.pail_ml), tuple(wanted.pails))
        if depot.wash and self.rank > self.lowest[i]:
            loads.washes.add(i)
            self.rank = 0
        elif i and loading.nothing:
            return Fault.IDLE_REFILL
        return None

    def _take(self, amounts_ml: list[int]) -> None:
        for s, ml in enumerate(amounts_ml):
            self.level[s] += ml
        self.gross_g += self._mass_g(amounts_ml)

    def _spare(self, taken: list[int], wanted_ml: list[int], margin: float) -> list[int]:
        """The spare share of what is pumped aboard, as far as tanks and legal weight allow."""
        spec = self.spec
        room = [
            max(0, min(int(want * margin), spec.capacity_ml[s] - self.level[s])) if taken[s] else 0
            for s, want in enumerate(wanted_ml)
        ]
        weight = self._mass_g(room)
        if not weight:
            return room
        share = min(1.0, max(0.0, spec.gross_g - self.gross_g) / weight)
        return [int(ml * share) for ml in room]


def _lowest_rank_after(problem: Problem, points: Stops) -> list[int]:
    """The cleanest visit still to come after each point (a high number when none is)."""
    lowest, found = 99, [99] * len(points)
    for i in range(len(points) - 1, -1, -1):
        found[i] = lowest
        if points[i] >= 0:
            lowest = min(lowest, problem.visits[points[i]].rank)
    return found
