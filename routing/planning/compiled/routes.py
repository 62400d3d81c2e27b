"""The routes of a day while they are searched, three versions of them, and what they have room for.

What a route has room for at each of its places is necessary, not sufficient, as in ``planning.room``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.compiled.judge import judge
from routing.planning.compiled.order import copy
from routing.planning.compiled.scratch import INFEASIBLE, WEIGHT, Scratch, longest_route
from routing.planning.compiled.tables import Floats, Ints, Records, Tables, record
from routing.planning.machine_code.jit import inlined, jit

HERE = 0
TRIAL = 1
BEST = 2
OUT = -1
"""The truck of a visit that is left out."""

WORST_RANK = 99


POINT = record("place room_pails rank_before rank_after hauled_m", "room_g load_g")
"""Point i is the start or the i-th stop. Of the place after it: what is free on the trip around it in pails
and mass, the worst health met since a wash and the best still to come until one, what is carried past it, and
the way to it from the last call."""

TRUCK = record("length work_s busy_s changed", "cost")
"""``changed``: whether the trial's route is another than where the search stands."""


class Routes(NamedTuple):
    """Index ``w`` is the version: where the search stands, what it tries, the best so far."""

    stops: Ints
    """[w, k, i]"""
    points: Records
    """[w, k, i]"""
    trucks: Records
    """[w, k]"""
    room_ml: Ints
    """[w, k, s, i]: free in the tanks on the trip around place i"""
    drawn_ml: Ints
    """[w, k, d, s]"""
    used_ml: Ints
    """[w, d, s]"""
    truck_of: Ints
    """[w, v]"""
    price: Floats
    """[w]"""


def routes_for(tables: Tables) -> Routes:
    """Three versions of a day on which no truck has been given a stop."""
    visits, trucks = len(tables.visits), len(tables.trucks)
    depots, kinds = tables.supplies.shape
    points = longest_route(visits) + 3
    return Routes(
        np.zeros((3, trucks, points), np.int64),
        np.zeros((3, trucks, points), POINT),
        np.zeros((3, trucks), TRUCK),
        np.zeros((3, trucks, kinds, points), np.int64),
        np.zeros((3, trucks, depots, kinds), np.int64),
        np.zeros((3, depots, kinds), np.int64),
        np.full((3, visits), OUT, np.int64),
        np.zeros(3),
    )


@inlined
def route_cost(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int) -> tuple[float, int]:
    """Cost of giving a truck other stops, and the fault where a rule or the stock forbids it."""
    cost, fault, _, _ = judge(t, x, k, stops, m)
    if cost == INFEASIBLE or not t.day[0].limited:
        return cost, fault
    for d in range(t.supplies.shape[0]):
        for s in range(t.supplies.shape[1]):
            stock = t.supplies[d, s].stock_ml
            if 0 <= stock < r.used_ml[w, d, s] - r.drawn_ml[w, k, d, s] + x.drawn_ml[d, s]:
                # Another depot may have it: what a refill may cure.
                return INFEASIBLE, WEIGHT
    return cost, fault


@jit
def put(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int) -> None:
    """Give a truck other stops, which must keep every rule."""
    cost, _, work_s, busy_s = judge(t, x, k, stops, m)
    r.trucks[w, k].cost, r.trucks[w, k].work_s, r.trucks[w, k].busy_s = cost, work_s, busy_s
    for d in range(t.supplies.shape[0]):
        for s in range(t.supplies.shape[1]):
            r.used_ml[w, d, s] += x.drawn_ml[d, s] - r.drawn_ml[w, k, d, s]
            r.drawn_ml[w, k, d, s] = x.drawn_ml[d, s]
    for i in range(r.trucks[w, k].length):
        if r.stops[w, k, i] >= 0:
            r.truck_of[w, r.stops[w, k, i]] = OUT
    r.trucks[w, k].length = m
    r.points[w, k, 0].place = t.depots[t.trucks[k].start].place
    for i in range(m):
        stop = stops[i]
        r.stops[w, k, i] = stop
        if stop >= 0:
            r.truck_of[w, stop] = k
            r.points[w, k, i + 1].place = t.visits[stop].place
        else:
            r.points[w, k, i + 1].place = t.depots[-1 - stop].place
    r.points[w, k, m + 1].place = t.depots[t.trucks[k].end].place
    r.trucks[TRIAL, k].changed = 1
    _note_room(t, r, w, k)


@jit
def _note_room(t: Tables, r: Routes, w: int, k: int) -> None:
    truck, m = t.trucks[k], r.trucks[w, k].length
    stops = r.stops[w, k]
    for s in range(t.density_g_ml.size):
        full = t.tanks[k, s].capacity_ml
        room, place = full if t.supplies[truck.start, s].there else t.tanks[k, s].level_ml, 0
        for i in range(m):
            stop = stops[i]
            if stop >= 0:
                room -= t.asked[stop, s].bulk_ml
            elif t.supplies[-1 - stop, s].there:
                r.room_ml[w, k, s, place : i + 1] = room
                room, place = full, i + 1
        r.room_ml[w, k, s, place : m + 1] = room
    _note_trips(t, r, w, k)
    _note_backwards(t, r, w, k)


@jit
def _note_trips(t: Tables, r: Routes, w: int, k: int) -> None:
    truck, m, points = t.trucks[k], r.trucks[w, k].length, r.points[w, k]
    start, payload = t.depots[truck.start], float(truck.gross_g - truck.tare_g)
    pails, pail_place = (truck.pail_slots if start.pails else truck.pails_aboard), 0
    grams, place = payload, 0
    rank, way = (0 if start.wash else truck.rank), 0
    for i in range(m + 1):
        points[i].rank_before, points[i].hauled_m = rank, way
        stop = r.stops[w, k, i] if i < m else -1 - truck.end
        if stop >= 0:
            visit = t.visits[stop]
            pails -= visit.pails
            grams -= visit.mass_g
            rank = max(rank, visit.rank)
            way += t.legs[truck.matrix, points[i].place, points[i + 1].place].metres
            continue
        for j in range(place, i + 1):
            points[j].room_g = grams
        grams, place, way = payload, i + 1, 0
        if i == m or t.depots[-1 - stop].pails:
            for j in range(pail_place, i + 1):
                points[j].room_pails = pails
            pails, pail_place = truck.pail_slots, i + 1
        if t.depots[-1 - stop].wash:
            rank = 0


@jit
def _note_backwards(t: Tables, r: Routes, w: int, k: int) -> None:
    m, load, rank = r.trucks[w, k].length, 0.0, WORST_RANK
    r.points[w, k, m].load_g, r.points[w, k, m].rank_after = load, rank
    for i in range(m - 1, -1, -1):
        stop = r.stops[w, k, i]
        if stop >= 0:
            load += t.visits[stop].mass_g
            rank = min(rank, t.visits[stop].rank)
        else:
            load = 0.0
            if t.depots[-1 - stop].wash:
                rank = WORST_RANK
        r.points[w, k, i].load_g, r.points[w, k, i].rank_after = load, rank


@jit
def copy_changed(t: Tables, r: Routes, a: int, b: int, everything: bool) -> None:
    """Make version ``b`` like ``a`` in all trucks whose routes changed, or in all."""
    for k in range(r.trucks.shape[1]):
        if not (everything or r.trucks[TRIAL, k].changed):
            continue
        for i in range(r.trucks[b, k].length):
            if r.stops[b, k, i] >= 0:
                r.truck_of[b, r.stops[b, k, i]] = OUT
    for k in range(r.trucks.shape[1]):
        if everything or r.trucks[TRIAL, k].changed:
            _copy_route(t, r, a, b, k)
    for d in range(t.supplies.shape[0]):
        copy(r.used_ml[a, d], 0, r.used_ml[b, d], 0, t.supplies.shape[1])
    r.price[b] = r.price[a]


@jit
def _copy_route(t: Tables, r: Routes, a: int, b: int, k: int) -> None:
    m = r.trucks[a, k].length
    r.trucks[b, k].length, r.trucks[b, k].cost = m, r.trucks[a, k].cost
    r.trucks[b, k].work_s, r.trucks[b, k].busy_s = r.trucks[a, k].work_s, r.trucks[a, k].busy_s
    for d in range(r.drawn_ml.shape[2]):
        copy(r.drawn_ml[a, k, d], 0, r.drawn_ml[b, k, d], 0, r.drawn_ml.shape[3])
    copy(r.stops[a, k], 0, r.stops[b, k], 0, m)
    for i in range(m):
        if r.stops[a, k, i] >= 0:
            r.truck_of[b, r.stops[a, k, i]] = k
    for i in range(m + 2):
        r.points[b, k, i] = r.points[a, k, i]
    for s in range(r.room_ml.shape[2]):
        copy(r.room_ml[a, k, s], 0, r.room_ml[b, k, s], 0, m + 1)


@jit
def price_of(t: Tables, r: Routes, w: int) -> float:
    """Cost of the routes, value of what is left out, the price of unequal shifts, and of what must be fed."""
    day, total = t.day[0], 0.0
    longest, shortest, used = 0, 10**15, 0
    for k in range(r.trucks.shape[1]):
        work_s = r.trucks[w, k].work_s
        if work_s:
            total += r.trucks[w, k].cost
            longest, shortest, used = max(longest, work_s), min(shortest, work_s), used + 1
    for v in range(r.truck_of.shape[1]):
        if r.truck_of[w, v] == OUT:
            total += t.visits[v].value + day.dear * t.visits[v].required
    if day.balance_per_s and used > 1:
        total += day.balance_per_s * (longest - shortest)
    return total
