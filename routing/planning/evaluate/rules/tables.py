"""A problem as arrays, for machine code: one record a visit, depot and truck, and tables between them.

Units and meaning are those of ``problem``. By commodity: ``bulk_ml[visit, s]`` and so on. Windows are padded
with ones that never open. Truth is 1, limits that do not exist are out of reach.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, inf
from typing import Any, NamedTuple

import numpy as np

from routing.planning.machine_code.records import Floats, Ints, Records, record
from routing.planning.problem.problem import Problem, TruckSpec, Windows, visit_ml
from routing.planning.problem.stability import Habit, followers

NEVER = 10**12
CLOSED = (10**15, -(10**15))
BOUNDLESS = 1e18

FEW_DEPOTS = 8
NEAREST = 2
"""Where a truck may call at more depots than a few, visits are tried with so many of the nearest for each
syrup."""

NEIGHBOURS = 500
"""Neighbours that are listed of a visit."""


DAY = record(
    "wash_s limited told",
    "pail_g pail_load_s margin balance_per_s required_penalty moved reordered turned",
)
VISIT = record(
    "place rank release_s required pails empties pumped latest_s told_truck told_before pours",
    "value relief_g mass_g least_loading_s max_gross_g",
)
DEPOT = record("place leave_by setup_s pails wash")
TRUCK = record(
    "start end pail_slots tare_g gross_g earliest_s latest_s ordinary_s max_s driving_s break_s "
    "break_after_s break_on_driving matrix group pails_aboard empties_aboard rank on_the_clock "
    "since_break_s identical_to heading tanks",
    "per_m per_s overtime_per_s fixed fuel_price fuel_empty fuel_per_g climb_l_per_g_m idle_l_per_s",
)
ASKED = record("bulk_ml pail_ml pails")
CREW = record("allowed service_s heading")
"""A truck at a visit: 0 where it may not go, 1 where it may, 2 where it could also bring what is needed; the
seconds there; whether it is on its way there."""

TANK = record("capacity_ml level_ml rest_ml pails pail_ml")
"""What a truck holds of a commodity and has aboard: pumped, and in full pails. ``rest_ml`` may stay in
tanks that are too low for another whole dose."""

HELD = record("commodity capacity_ml level_ml")
"""One of several tanks of a truck. Where no commodity has two of them, none is listed."""

POUR = record("commodity colonies", "dose_ml")
"""What a group of colonies is given, each from one tank."""

SUPPLY = record("there from_s stock_ml", "rate_ml_s")
"""A commodity at a depot; a stock of -1 is as much as is wanted."""

LEG = record("metres drive_s climb_m")


class Tables(NamedTuple):
    """All that the machine code reads and never writes; ``day`` holds one record.

    Index ``k`` truck, ``v`` visit, ``d`` depot, ``s`` commodity, ``w`` window, ``p`` place, ``m`` table.
    """

    day: Records
    visits: Records
    depots: Records
    trucks: Records
    density_g_ml: Floats
    asked: Records
    """[v, s]"""
    crews: Records
    """[k, v]"""
    openings: Ints
    """[k, v, w, 2]: when the visit may begin"""
    tanks: Records
    """[k, s]"""
    supplies: Records
    """[d, s]"""
    hours: Ints
    """[d, w, 2]"""
    legs: Records
    """[m, p, p]"""
    held: Records
    """[k, j]: as many as the truck's record says"""
    pours: Records
    """[v, g]: as many as the visit's record says"""
    near: Ints
    """[v, i]: visits from near to far"""
    calls: Ints
    """[g, v, i]: for trucks of group ``g``, depots where a call about a visit is tried; -1 is none"""


def tables_of(problem: Problem) -> Tables:
    """State a problem in arrays."""
    return Tables(
        _day(problem),
        _visits(problem),
        _depots(problem),
        _trucks(problem),
        np.array(problem.density_g_ml, np.float64),
        _asked(problem),
        _crews(problem),
        _openings(problem),
        _tanks(problem),
        _supplies(problem),
        _windows([d.windows for d in problem.depots], _widest(problem)),
        _legs(problem),
        _held(problem),
        _pours(problem),
        _near(problem),
        _calls(problem),
    )


def _day(problem: Problem) -> Records:
    habit = problem.habit or Habit((), 0.0, 0.0)
    stock = any(s is not None and s.stock_ml is not None for d in problem.depots for s in d.supplies)
    row = (
        problem.wash_s, stock, problem.habit is not None, problem.pail_g, problem.pail_load_s,
        problem.margin, problem.balance_per_s, problem.dear, habit.moved, habit.reordered, habit.turned,
    )  # fmt: skip
    return np.array([row], DAY)


def _visits(problem: Problem) -> Records:
    loading_s = _least_loading_s(problem)
    routes = problem.habit.routes if problem.habit else ()
    told = {v: (k, before) for k, route in enumerate(routes) for before, v in followers(route)}
    rows = []
    for i, v in enumerate(problem.visits):
        limit = BOUNDLESS if v.max_gross_g is None else v.max_gross_g
        latest = max((end for _, end in v.windows), default=0)
        rows.append(
            (
                v.place,
                v.rank,
                v.release_s,
                v.required,
                v.pail_count,
                v.empties,
                any(v.bulk_ml),
                latest,
                *told.get(i, (-1, -1)),
                len(v.pours),
                v.value,
                problem.relief_g[i],
                problem.mass_g[i],
                loading_s[i],
                limit,
            )
        )
    return np.array(rows, VISIT)


def _depots(problem: Problem) -> Records:
    return np.array([(d.place, d.leave_by, d.setup_s, d.pails, d.wash) for d in problem.depots], DEPOT)


def _trucks(problem: Problem) -> Records:
    heading = problem.habit.heading if problem.habit else ()
    groups = _groups(problem)
    rows = []
    for k, t in enumerate(problem.trucks):
        climb = t.climb.l_per_g_m if t.climb is not None else 0.0
        rows.append(
            (
                t.start, t.end, t.pail_slots, t.tare_g, t.gross_g, t.earliest_s, t.latest_s, t.ordinary_s,
                t.max_s, t.driving_s, t.break_s, t.break_after_s, t.break_on_driving, t.matrix,
                groups.index(t.refill_depots), sum(t.pails_aboard), t.empties_aboard, t.rank,
                t.on_the_clock, t.tired_s, problem.identical_trucks[k], bool(heading and heading[k]),
                len(_several(t)), t.per_m, t.per_s,
                t.overtime_per_s, t.fixed, t.fuel_price, t.fuel_empty, t.fuel_per_g, climb, t.idle_l_per_s,
            )
        )  # fmt: skip
    return np.array(rows, TRUCK)


def _amounts(rows: Sequence[Sequence[int]], width: int) -> Ints:
    """Rows of equal length; what is not said is nothing."""
    table = np.zeros((len(rows), width), np.int64)
    for i, row in enumerate(rows):
        table[i, : len(row)] = row
    return table


def _asked(problem: Problem) -> Records:
    kinds = len(problem.density_g_ml)
    table = np.zeros((len(problem.visits), kinds), ASKED)
    for name in ASKED.fields or ():
        table[name] = _amounts([getattr(v, name) for v in problem.visits], kinds)
    return table


def _tanks(problem: Problem) -> Records:
    trucks, kinds = problem.trucks, len(problem.density_g_ml)
    table = np.zeros((len(trucks), kinds), TANK)
    table["capacity_ml"] = _amounts([t.capacity_ml for t in trucks], kinds)
    table["level_ml"] = _amounts([t.level_ml for t in trucks], kinds)
    table["rest_ml"] = _amounts([_rest_ml(problem, t) for t in trucks], kinds)
    table["pails"] = _amounts([t.pails_aboard for t in trucks], kinds)
    table["pail_ml"] = _amounts([t.pail_ml_aboard for t in trucks], kinds)
    return table


def _several(truck: TruckSpec) -> tuple[tuple[int, int, int], ...]:
    """The tanks of a truck, where two of them hold the same."""
    kinds = [kind for kind, _, _ in truck.tanks]
    return truck.tanks if len(set(kinds)) < len(kinds) else ()


def _rest_ml(problem: Problem, truck: TruckSpec) -> list[int]:
    """What may stay in all tanks of a commodity but one, when each is too low for the largest dose."""
    kinds = [kind for kind, _, _ in _several(truck)]
    most = [
        max((ceil(dose) for v in problem.visits for kind, _, dose in v.pours if kind == s), default=0)
        for s in range(len(problem.density_g_ml))
    ]
    return [max(0, kinds.count(s) - 1) * dose_ml for s, dose_ml in enumerate(most)]


def _held(problem: Problem) -> Records:
    rows = [_several(truck) for truck in problem.trucks]
    return _padded(rows, HELD)


def _pours(problem: Problem) -> Records:
    return _padded([visit.pours for visit in problem.visits], POUR)


def _padded(rows: Sequence[Sequence[tuple[float, ...]]], kind: np.dtype[Any]) -> Records:
    """Records in rows of equal length; what is not said is nothing."""
    table = np.zeros((len(rows), max([1, *map(len, rows)])), kind)
    for i, row in enumerate(rows):
        for j, values in enumerate(row):
            table[i, j] = tuple(values)
    return table


def _crews(problem: Problem) -> Records:
    table = np.zeros((len(problem.trucks), len(problem.visits)), CREW)
    table["service_s"] = np.array(problem.service_s, np.int64).reshape(table.shape)
    for v, (visit, fit) in enumerate(zip(problem.visits, problem.eligible_trucks, strict=True)):
        table["allowed"][slice(None) if visit.trucks is None else sorted(visit.trucks), v] = 1
        table["allowed"][list(fit), v] = 2
    for k, there in enumerate(problem.habit.heading if problem.habit else ()):
        table["heading"][k, sorted(there)] = 1
    return table


def _supplies(problem: Problem) -> Records:
    table = np.zeros((len(problem.depots), len(problem.density_g_ml)), SUPPLY)
    table["stock_ml"], table["rate_ml_s"] = -1, 1.0
    for d, depot in enumerate(problem.depots):
        for s, supply in enumerate(depot.supplies):
            if supply is not None:
                stock = -1 if supply.stock_ml is None else supply.stock_ml
                table[d, s] = (True, supply.from_s, stock, supply.rate_ml_s)
    return table


def _legs(problem: Problem) -> Records:
    table = np.zeros((len(problem.distance_m), *problem.distance_m[0].shape), LEG)
    table["metres"], table["drive_s"] = np.stack(problem.distance_m), np.stack(problem.drive_s)
    climbs = [truck.climb.rows for truck in problem.trucks if truck.climb is not None]
    if climbs:
        table["climb_m"] = np.array(climbs[0], np.int64)
    return table


def _windows(rows: Sequence[Windows], widest: int) -> Ints:
    """[row, w, 2], padded with windows that never open."""
    table = np.empty((len(rows), widest, 2), np.int64)
    table[:] = CLOSED
    for i, row in enumerate(rows):
        for w, window in enumerate(row):
            table[i, w] = window
    return table


def _widest(problem: Problem) -> int:
    """The most windows that any place has."""
    rows = [windows for row in problem.openings for windows in row] + [d.windows for d in problem.depots]
    return max(1, *map(len, rows)) if rows else 1


def _openings(problem: Problem) -> Ints:
    flat = _windows([windows for row in problem.openings for windows in row], _widest(problem))
    return flat.reshape(len(problem.trucks), len(problem.visits), *flat.shape[1:])


def _between(problem: Problem) -> Ints:
    """Metres between visits."""
    places = [v.place for v in problem.visits]
    return np.asarray(problem.distance_m[0][np.ix_(places, places)])


def _near(problem: Problem) -> Ints:
    return _between(problem).argsort(axis=1, kind="stable")[:, :NEIGHBOURS].astype(np.int64)


def _groups(problem: Problem) -> list[tuple[int, ...]]:
    """The sets of depots where trucks may call."""
    return list(dict.fromkeys(truck.refill_depots for truck in problem.trucks))


def _calls(problem: Problem) -> Ints:
    rows = [[_depots_about(problem, group, v.place) for v in problem.visits] for group in _groups(problem)]
    widest = max((len(row) for group in rows for row in group), default=0)
    table = np.full((len(rows), len(problem.visits), widest + 1), -1, np.int64)
    for g, group in enumerate(rows):
        for v, row in enumerate(group):
            table[g, v, : len(row)] = row
    return table


def _depots_about(problem: Problem, group: tuple[int, ...], place: int) -> list[int]:
    """All depots of a few; else the nearest for every syrup, for pails and for a wash."""
    if len(group) <= FEW_DEPOTS:
        return list(group)
    metres = problem.distance_m[0][place]
    nearest = sorted(group, key=lambda d: int(metres[problem.depots[d].place]))
    of = [problem.depots[d] for d in nearest]
    kinds = range(len(problem.density_g_ml))
    picked = [[d for d, depot in zip(nearest, of, strict=True) if depot.supplies[s]][:NEAREST] for s in kinds]
    picked += [[d for d, depot in zip(nearest, of, strict=True) if depot.pails and any(depot.supplies)][:1]]
    picked += [[d for d, depot in zip(nearest, of, strict=True) if depot.wash][:1]]
    return sorted({d for row in picked for d in row})


def _least_loading_s(problem: Problem) -> list[float]:
    """Seconds that loading what each visit takes lasts at least, where it is fastest; calls apart."""
    rates = [
        max((supply.rate_ml_s for d in problem.depots if (supply := d.supplies[s]) is not None), default=inf)
        for s in range(len(problem.density_g_ml))
    ]
    return [
        sum(visit_ml(v, s) / rate for s, rate in enumerate(rates)) + v.pail_count * problem.pail_load_s
        for v in problem.visits
    ]
