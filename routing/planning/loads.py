"""Decide what a truck takes aboard at each depot of a given route, and weigh it on every leg."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from routing.planning.problem import DepotSpec, Problem, Stops, depot_stop


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

    ``levels_ml``, ``pails_full``, ``pails_empty``, ``pail_ml`` and ``gross_g`` hold on leaving a point.
    """

    fault: Fault | None
    loading: dict[int, Loading]
    washes: set[int]
    levels_ml: list[tuple[int, ...]]
    pails_full: list[int]
    pails_empty: list[int]
    gross_g: list[float]


def plan_loads(problem: Problem, truck: int, stops: Stops) -> Loads:
    """Loads for a route, with the spare share of syrup unless it would break a weight limit."""
    loads = _carry(problem, truck, stops, problem.margin)
    if problem.margin and loads.fault in (Fault.WEIGHT, Fault.GATE_WEIGHT):
        loads = _carry(problem, truck, stops, 0.0)
    return loads


def _needs(problem: Problem, points: Stops) -> tuple[dict[int, tuple[list[int], list[int], list[int]]], bool]:
    """What each depot call must supply, so that every pour until the next supply of it is covered.

    Also whether pails are asked for that no depot call before them can give.
    """
    kinds = range(len(problem.density_g_ml))
    bulk, pail_ml, pails = [0] * len(kinds), [0] * len(kinds), [0] * len(kinds)
    wanted = {}
    for i in range(len(points) - 1, -1, -1):
        stop = points[i]
        if stop >= 0:
            visit = problem.visits[stop]
            for s in kinds:
                bulk[s] += visit.bulk_ml[s]
                if visit.pails:
                    pail_ml[s] += visit.pail_ml[s]
                    pails[s] += visit.pails[s]
            continue
        depot = problem.depots[-1 - stop]
        take_bulk, take_pail, count = ([0] * len(kinds) for _ in range(3))
        for s in kinds:
            if depot.supplies[s] is None:
                continue
            take_bulk[s], bulk[s] = bulk[s], 0
            if depot.pails:
                take_pail[s], pail_ml[s] = pail_ml[s], 0
                count[s], pails[s] = pails[s], 0
        wanted[i] = (take_bulk, take_pail, count)
    return wanted, any(pails)


class _Aboard:
    """The running state of one truck while its loads are laid out."""

    def __init__(self, problem: Problem, truck: int) -> None:
        spec = problem.trucks[truck]
        self.problem, self.spec = problem, spec
        self.level = list(spec.level_ml)
        self.pail_ml = [0] * len(self.level)
        self.full = self.empty = 0
        self.rank = 0
        self.fault: Fault | None = None

    def blame(self, fault: Fault) -> None:
        if self.fault is None:
            self.fault = fault

    @property
    def gross_g(self) -> float:
        grams: float = self.spec.tare_g + (self.full + self.empty) * self.problem.pail_g
        for s, density in enumerate(self.problem.density_g_ml):
            grams += (self.level[s] + self.pail_ml[s]) * density
        return grams

    def load(
        self, depot: DepotSpec, wanted: tuple[list[int], list[int], list[int]], margin: float
    ) -> Loading:
        bulk, pail_ml, pails = wanted
        spec = self.spec
        if depot.pails:
            self.empty = 0
        taken = [max(0, want - have) for want, have in zip(bulk, self.level, strict=True)]
        for s, more in enumerate(taken):
            self.level[s] += more
            self.pail_ml[s] += pail_ml[s]
            if self.level[s] > spec.capacity_ml[s]:
                self.blame(Fault.TANK)
        self.full += sum(pails)
        if margin:
            self._spare(taken, bulk, margin)
        if self.full + self.empty > spec.pail_slots:
            self.blame(Fault.SLOTS)
        if self.gross_g > spec.gross_g + 0.5:
            self.blame(Fault.WEIGHT)
        return Loading(tuple(taken), tuple(pail_ml), tuple(pails))

    def _spare(self, taken: list[int], bulk: list[int], margin: float) -> None:
        """Add the spare share to what is pumped aboard, as far as tanks and legal weight allow."""
        spec, density = self.spec, self.problem.density_g_ml
        room = [
            max(0, min(int(want * margin), spec.capacity_ml[s] - self.level[s])) if taken[s] else 0
            for s, want in enumerate(bulk)
        ]
        weight = sum(ml * density[s] for s, ml in enumerate(room))
        if not weight:
            return
        share = min(1.0, max(0.0, spec.gross_g - self.gross_g) / weight)
        for s, ml in enumerate(room):
            more = int(ml * share)
            taken[s] += more
            self.level[s] += more

    def serve(self, visit_index: int) -> None:
        visit = self.problem.visits[visit_index]
        if visit.max_gross_g is not None and self.gross_g > visit.max_gross_g + 0.5:
            self.blame(Fault.GATE_WEIGHT)
        if visit.rank < self.rank:
            self.blame(Fault.HYGIENE)
        self.rank = visit.rank
        for s, ml in enumerate(visit.bulk_ml):
            self.level[s] -= ml
            if self.level[s] < 0:
                self.blame(Fault.SUPPLY)
        for s, ml in enumerate(visit.pail_ml):
            self.pail_ml[s] -= ml
        self.full -= visit.pail_count
        self.empty += visit.empties
        if self.full + self.empty > self.spec.pail_slots:
            self.blame(Fault.SLOTS)


def _carry(problem: Problem, truck: int, stops: Stops, margin: float) -> Loads:
    points = (depot_stop(problem.trucks[truck].start), *stops)
    wanted, pails_missing = _needs(problem, points)
    lowest = _lowest_rank_after(problem, points)
    aboard = _Aboard(problem, truck)
    loads = Loads(None, {}, set(), [], [], [], [])
    if pails_missing:
        aboard.blame(Fault.SUPPLY)
    for i, stop in enumerate(points):
        if stop >= 0:
            allowed = problem.visits[stop].trucks
            if allowed is not None and truck not in allowed:
                aboard.blame(Fault.ACCESS)
            aboard.serve(stop)
        else:
            depot = problem.depots[-1 - stop]
            loads.loading[i] = loading = aboard.load(depot, wanted[i], margin)
            if depot.wash and aboard.rank > lowest[i]:
                loads.washes.add(i)
                aboard.rank = 0
            elif i and loading.nothing:
                aboard.blame(Fault.IDLE_REFILL)
        loads.levels_ml.append(tuple(aboard.level))
        loads.pails_full.append(aboard.full)
        loads.pails_empty.append(aboard.empty)
        loads.gross_g.append(aboard.gross_g)
    loads.fault = aboard.fault
    return loads


def _lowest_rank_after(problem: Problem, points: Stops) -> list[int]:
    """The cleanest visit still to come after each point (a high number when none is)."""
    lowest, found = 99, [99] * len(points)
    for i in range(len(points) - 1, -1, -1):
        found[i] = lowest
        if points[i] >= 0:
            lowest = min(lowest, problem.visits[points[i]].rank)
    return found
