"""Make up tiny days from a seed, and find the best plan of one by trying every plan there is."""

from __future__ import annotations

import random
from dataclasses import dataclass, fields, replace
from itertools import permutations, product

import numpy as np

from routing.planning.evaluate.state import INFEASIBLE, Judge
from routing.planning.problem.problem import (
    DepotSpec,
    Problem,
    Stops,
    Supply,
    TruckSpec,
    Visit,
    Windows,
    depot_stop,
)

HOUR = 3600
DENSITIES = (1.327, 1.383)


@dataclass(frozen=True)
class Kind:
    """What a made-up day may hold besides visits, tanks and hours."""

    visits: int = 4
    trucks: int = 2
    depots: int = 2
    syrups: int = 1
    windows: bool = False
    several_windows: bool = False
    breaks: bool = False
    driving_breaks: bool = False
    pails: bool = False
    ranks: bool = False
    stock: bool = False
    margin: bool = False
    levels: bool = False
    gates: bool = False
    heavy: bool = False
    required: bool = False
    balance: bool = False
    twins: bool = False
    crooked: bool = False
    late_stock: bool = False
    releases: bool = False


def any_kind(seed: int, visits: int) -> Kind:
    """A kind of tiny day from a seed: each trait now and then."""
    rng = random.Random(seed)
    traits = [trait.name for trait in fields(Kind) if trait.type == "bool"]
    return Kind(
        visits=visits,
        trucks=rng.choice([1, 2]),
        depots=rng.choice([1, 2, 2]),
        syrups=rng.choice([1, 2]),
        **{trait: rng.random() < 0.3 for trait in traits},
    )


def small_rack(seed: int) -> Problem:
    """A day of one truck whose rack holds the pails of one visit, not of two."""
    day = make_day(Kind(visits=3, trucks=1, depots=2, pails=True, ranks=seed % 2 == 0), seed)
    pails = max(v.pail_count for v in day.visits)
    return replace(day, trucks=(replace(day.trucks[0], pail_slots=pails),))


def make_day(kind: Kind, seed: int) -> Problem:
    """A tiny day: places on a plane of some 40 km, syrup for a few loads, values that are sometimes low."""
    return _Maker(kind, seed).day()


class _Maker:
    def __init__(self, kind: Kind, seed: int) -> None:
        self.kind, self.rng = kind, random.Random(seed)
        count = kind.depots + kind.visits
        self.spots = [(self.rng.uniform(0, 40_000), self.rng.uniform(0, 40_000)) for _ in range(count)]

    def day(self) -> Problem:
        kind, rng = self.kind, self.rng
        metres, seconds = self._tables()
        trucks = tuple(self._truck(k) for k in range(kind.trucks))
        if kind.twins:
            trucks = (trucks[0],) * kind.trucks
        return Problem(
            visits=tuple(self._visit(i) for i in range(kind.visits)),
            depots=tuple(self._depot(d) for d in range(kind.depots)),
            trucks=trucks,
            distance_m=(metres,),
            drive_s=(seconds,),
            density_g_ml=DENSITIES[: kind.syrups],
            pail_g=1200 if kind.pails else 0,
            pail_load_s=7.5 if kind.pails else 0.0,
            wash_s=1500 if kind.ranks else 0,
            margin=rng.choice([0.03, 0.05, 0.1]) if kind.margin else 0.0,
            balance_per_s=5 / HOUR if kind.balance else 0.0,
        )

    def _tables(self) -> tuple[np.ndarray, np.ndarray]:
        size = len(self.spots)
        metres = np.zeros((size, size), dtype=np.int64)
        for i, (x, y) in enumerate(self.spots):
            for j, (a, b) in enumerate(self.spots):
                bend = self.rng.uniform(1.0, 2.5) if self.kind.crooked else 1.3
                metres[i, j] = 0 if i == j else int(np.hypot(x - a, y - b) * bend) + 200
        return metres, (metres / 17.0).astype(np.int64) + (metres > 0) * 60

    def _hours(self) -> Windows:
        rng, kind = self.rng, self.kind
        if not (kind.windows or kind.several_windows) or rng.random() < 0.3:
            return ((0, 24 * HOUR),)
        first = rng.randrange(5 * HOUR, 9 * HOUR, 60)
        length = rng.randrange(HOUR // 2, 4 * HOUR, 60)
        if kind.several_windows and rng.random() < 0.7:
            second = first + length + rng.randrange(HOUR // 4, 3 * HOUR, 60)
            return ((first, first + length), (second, second + rng.randrange(HOUR, 4 * HOUR, 60)))
        return ((first, first + length + HOUR),)

    def _visit(self, index: int) -> Visit:
        rng, kind = self.rng, self.kind
        bulk = [0] * kind.syrups
        bulk[rng.randrange(kind.syrups)] = rng.randrange(100_000, 700_000, 100)
        if kind.syrups > 1 and rng.random() < 0.3:
            bulk[0] = rng.randrange(50_000, 300_000, 100)
        pails = [0] * kind.syrups
        if kind.pails and rng.random() < 0.6:
            pails[rng.randrange(kind.syrups)] = rng.randrange(2, 9)
            bulk = bulk if rng.random() < 0.4 else [0] * kind.syrups
        rank = rng.choice([0, 0, 1, 2]) if kind.ranks else 0
        carried = any(pails)
        return Visit(
            place=kind.depots + index,
            bulk_ml=tuple(bulk),
            value=rng.choice([15.0, 60.0, 400.0, 900.0]),
            pail_ml=tuple(7570 * p for p in pails) if carried else (),
            pails=tuple(pails) if carried else (),
            empties=sum(pails) if carried and rank < 2 else 0,
            setup_s=300,
            handling_s=rng.randrange(0, 2400, 50),
            windows=self._hours(),
            leave_by=rng.random() < 0.7,
            trucks=frozenset({0}) if rng.random() < 0.1 else None,
            max_gross_g=rng.choice([5_000_000, 5_300_000, 5_600_000])
            if kind.gates and rng.random() < 0.5
            else None,
            required=kind.required and rng.random() < 0.3,
            rank=rank,
            release_s=rng.randrange(6 * HOUR, 11 * HOUR, 60) if kind.releases and rng.random() < 0.5 else 0,
        )

    def _depot(self, index: int) -> DepotSpec:
        rng, kind = self.rng, self.kind
        supplies: list[Supply | None] = []
        for s in range(kind.syrups):
            stock = rng.randrange(300_000, 1_500_000, 100) if kind.stock and rng.random() < 0.7 else None
            opens = (
                rng.randrange(5 * HOUR, 9 * HOUR, 60) if kind.late_stock and rng.random() < 0.5 else -(10**9)
            )
            missing = rng.random() < 0.25 and (index > 0 or s > 0)
            supplies.append(None if missing else Supply(rng.choice([1262.3, 2208.7, 2523.0]), stock, opens))
        hours = self._hours() if index and rng.random() < 0.5 else ((0, 24 * HOUR),)
        return DepotSpec(
            place=index,
            supplies=tuple(supplies),
            windows=hours,
            leave_by=rng.random() < 0.5,
            setup_s=600,
            pails=index == 0 or rng.random() < 0.4,
            wash=kind.ranks and rng.random() < 0.6,
        )

    def _truck(self, index: int) -> TruckSpec:
        rng, kind = self.rng, self.kind
        capacity = [rng.randrange(500_000, 1_300_000, 1000) for _ in range(kind.syrups)]
        if kind.syrups > 1 and rng.random() < 0.2:
            capacity[rng.randrange(kind.syrups)] = 0
        level = [rng.randrange(0, c + 1) if kind.levels and rng.random() < 0.7 else 0 for c in capacity]
        full_g = sum(c * d for c, d in zip(capacity, DENSITIES, strict=False))
        gross = 4_200_000 + int(full_g * (rng.uniform(0.6, 1.0) if kind.heavy else 1.5)) + 60_000
        return TruckSpec(
            start=0,
            end=rng.randrange(kind.depots) if rng.random() < 0.3 else 0,
            capacity_ml=tuple(capacity),
            level_ml=tuple(level),
            pail_slots=rng.choice([8, 12, 20]) if kind.pails else 0,
            tare_g=4_200_000,
            gross_g=max(
                gross, 4_200_000 + int(sum(a * b for a, b in zip(level, DENSITIES, strict=False))) + 1
            ),
            earliest_s=5 * HOUR,
            latest_s=20 * HOUR,
            ordinary_s=rng.choice([4, 6, 9]) * HOUR,
            overtime_s=rng.choice([0, 1, 2]) * HOUR,
            driving_s=rng.choice([3, 11]) * HOUR,
            break_s=1800 if kind.breaks or kind.driving_breaks else 0,
            break_after_s=(rng.choice([2, 3, 4]) * HOUR) if kind.breaks else 2 * HOUR,
            break_on_driving=kind.driving_breaks,
            per_m=0.00055,
            per_s=(1 + index % 2) * 22 / HOUR,
            overtime_per_s=11 / HOUR,
            fixed=rng.choice([0.0, 30.0]),
            fuel_price=1.05,
            fuel_empty=0.00026,
            fuel_per_g=0.00007 / 3_700_000,
            idle_l_per_s=3.2 / HOUR,
            pump_ml_s=rng.choice([None, 757.0]),
            refill_depots=tuple(
                d for d in range(kind.depots) if rng.random() < 0.85 or (d == 0 and kind.depots == 1)
            ),
        )


@dataclass(frozen=True)
class _Round:
    cost: float
    work_s: int
    drawn: tuple[tuple[tuple[int, int], int], ...]


def best_price(problem: Problem, calls: int = 2) -> float:
    """The price of the best plan, found by judging every order of every choice of visits, with every
    sequence of up to ``calls`` depot calls before each visit.
    """
    judge = Judge(problem)
    plans: list[tuple[frozenset[int], tuple[_Round, ...]]] = [(frozenset(), ())]
    for truck in range(len(problem.trucks)):
        rounds = _rounds(judge, truck, calls)
        plans = _combine(judge, plans, rounds)
    everything = frozenset(range(len(problem.visits)))
    return min(_price(problem, everything - served, chosen) for served, chosen in plans)


def _rounds(judge: Judge, truck: int, calls: int) -> dict[frozenset[int], list[_Round]]:
    """For each set of visits the rounds worth having: none cheaper with the same hours and stock or less."""
    problem = judge.problem
    depots = [depot_stop(d) for d in problem.trucks[truck].refill_depots]
    ways = [way for length in range(calls + 1) for way in product(depots, repeat=length)]
    found: dict[frozenset[int], list[_Round]] = {frozenset(): []}
    visits = range(len(problem.visits))
    for size in range(1, len(visits) + 1):
        for order in permutations(visits, size):
            if any(truck not in problem.eligible_trucks[v] for v in order):
                continue
            for chosen in product(ways, repeat=size):
                stops: Stops = sum(((*way, v) for way, v in zip(chosen, order, strict=True)), ())
                judged = judge(truck, stops)
                if judged.cost < INFEASIBLE:
                    kept = found.setdefault(frozenset(order), [])
                    _keep(problem, kept, _Round(judged.cost, judged.work_s, judged.drawn))
        judge._known.clear()
    return found


def _keep(problem: Problem, kept: list[_Round], new: _Round) -> None:
    def no_worse(a: _Round, b: _Round) -> bool:
        less = dict(b.drawn)
        return (
            a.cost <= b.cost
            and (not problem.balance_per_s or a.work_s == b.work_s)
            and all(ml <= less.get(key, 0) for key, ml in a.drawn)
        )

    if not any(no_worse(old, new) for old in kept):
        kept[:] = [old for old in kept if not no_worse(new, old)] + [new]


def _combine(
    judge: Judge,
    plans: list[tuple[frozenset[int], tuple[_Round, ...]]],
    rounds: dict[frozenset[int], list[_Round]],
) -> list[tuple[frozenset[int], tuple[_Round, ...]]]:
    found = list(plans)
    for served, chosen in plans:
        for extra, options in rounds.items():
            if extra and not extra & served:
                for option in options:
                    if _in_stock(judge, (*chosen, option)):
                        found.append((served | extra, (*chosen, option)))
    return found


def _in_stock(judge: Judge, chosen: tuple[_Round, ...]) -> bool:
    total: dict[tuple[int, int], int] = {}
    for one in chosen:
        for key, ml in one.drawn:
            total[key] = total.get(key, 0) + ml
    return all(ml <= judge.limited[key] for key, ml in total.items())


def _price(problem: Problem, left: frozenset[int], chosen: tuple[_Round, ...]) -> float:
    price = sum(r.cost for r in chosen)
    price += sum(problem.visits[v].value + problem.dear * problem.visits[v].required for v in left)
    if problem.balance_per_s and len(chosen) > 1:
        work = [r.work_s for r in chosen]
        price += problem.balance_per_s * (max(work) - min(work))
    return price


def without(kind: Kind, **changes: object) -> Kind:
    """A kind of day with some things changed."""
    return replace(kind, **changes)  # type: ignore[arg-type]
