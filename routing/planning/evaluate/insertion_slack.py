"""Tell at once what a route has room for at each of its places, and what a visit there would add.

Necessary conditions only, and a close guess of the price: what passes here is still judged exactly, what
does not pass cannot be lawful. Sums are kept from the filling before a place to the filling after it, as when
segments are joined (T. Vidal, T.G. Crainic, M. Gendreau & C. Prins, "A unified solution framework for
multi-attribute vehicle routing problems", European J. of Operational Research 234(3):658, 2014; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from routing.planning.problem.problem import Problem, Stops, visit_ml

WORST = 99


@dataclass(frozen=True, slots=True)
class Room:
    """What may still be put at each place of a route: place i is before stop i, the last before the end.

    ``bulk_ml[s][i]``, ``pails[i]`` and ``mass_g[i]`` are free in the trip around the place. A visit's rank
    must lie between ``rank_before[i]`` and ``rank_after[i]``. ``load_g[i]`` is carried past the place, and
    ``hauled_m[i]`` the way from the last call to the stop before it.
    """

    bulk_ml: tuple[list[float], ...]
    pails: list[float]
    mass_g: list[float]
    rank_before: list[int]
    rank_after: list[int]
    load_g: list[float]
    hauled_m: list[int]


def least_loading_s(problem: Problem) -> tuple[float, ...]:
    """Seconds that loading what each visit takes lasts at least, where it is fastest; calls apart."""
    rates = [
        max((supply.rate_ml_s for d in problem.depots if (supply := d.supplies[s]) is not None), default=inf)
        for s in range(len(problem.density_g_ml))
    ]
    return tuple(
        sum(visit_ml(v, s) / rate for s, rate in enumerate(rates)) + v.pail_count * problem.pail_load_s
        for v in problem.visits
    )


def room_of(problem: Problem, mass_g: Sequence[float], truck: int, stops: Stops) -> Room:
    """The room of a route; ``mass_g`` is what each visit takes."""
    spec, depots = problem.trucks[truck], problem.depots
    start = depots[spec.start]
    kinds = range(len(problem.density_g_ml))
    fillings = [(spec.capacity_ml[s] if start.supplies[s] is not None else spec.level_ml[s]) for s in kinds]
    supplied = [[stop < 0 and depots[-1 - stop].supplies[s] is not None for stop in stops] for s in kinds]
    bulk = tuple(
        _free([problem.visits[v].bulk_ml[s] if v >= 0 else 0 for v in stops], supplied[s], full, first)
        for s, full, first in zip(kinds, spec.capacity_ml, fillings, strict=True)
    )
    pails = _free(
        [problem.visits[v].pail_count if v >= 0 else 0 for v in stops],
        [stop < 0 and depots[-1 - stop].pails for stop in stops],
        spec.pail_slots,
        spec.pail_slots if start.pails else sum(spec.pails_aboard),
    )
    masses = [mass_g[v] if v >= 0 else 0.0 for v in stops]
    payload = float(spec.gross_g - spec.tare_g)
    mass = _free(masses, [stop < 0 for stop in stops], payload, payload)
    before, after = _ranks(problem, truck, stops)
    return Room(bulk, pails, mass, before, after, _carried(masses, stops), _hauled(problem, truck, stops))


def _free(asked: list[float], filled: list[bool], full: float, first: float) -> list[float]:
    """What is free at each place: the capacity less all that is asked for between two fillings."""
    free, place, room = [full] * (len(asked) + 1), 0, first
    for i, (amount, fills) in enumerate(zip(asked, filled, strict=True)):
        if fills:
            free[place : i + 1] = [room] * (i + 1 - place)
            place, room = i + 1, full
        else:
            room -= amount
    free[place:] = [room] * (len(asked) + 1 - place)
    return free


def _ranks(problem: Problem, truck: int, stops: Stops) -> tuple[list[int], list[int]]:
    """The worst health met before each place, and the best still to come, since and until a wash."""
    spec, before = problem.trucks[truck], []
    rank = 0 if problem.depots[spec.start].wash else spec.rank
    for stop in stops:
        before.append(rank)
        if stop >= 0:
            rank = max(rank, problem.visits[stop].rank)
        elif problem.depots[-1 - stop].wash:
            rank = 0
    before.append(rank)
    rank, after = WORST, [WORST]
    for stop in reversed(stops):
        if stop >= 0:
            rank = min(rank, problem.visits[stop].rank)
        elif problem.depots[-1 - stop].wash:
            rank = WORST
        after.append(rank)
    return before, after[::-1]


def _carried(masses: list[float], stops: Stops) -> list[float]:
    """What is aboard at each place for the rest of its trip."""
    load, found = 0.0, [0.0]
    for mass, stop in zip(reversed(masses), reversed(stops), strict=True):
        load = load + mass if stop >= 0 else 0.0
        found.append(load)
    return found[::-1]


def _hauled(problem: Problem, truck: int, stops: Stops) -> list[int]:
    """Metres from the last call at a depot to the stop before each place."""
    spec = problem.trucks[truck]
    metres = problem.distance_rows[spec.matrix]
    here, way, found = problem.depots[spec.start].place, 0, [0]
    for stop in stops:
        there = problem.visits[stop].place if stop >= 0 else problem.depots[-1 - stop].place
        way = way + metres[here][there] if stop >= 0 else 0
        here = there
        found.append(way)
    return found
