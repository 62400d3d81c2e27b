"""The routes of a day while they are searched, three versions of them, and what they have room for.

What a route has room for at each of its places is necessary, not sufficient: what passes here is still
judged, what does not pass cannot be lawful. Sums are kept from the filling before a place to the filling
after it, as when segments are joined (T. Vidal, T.G. Crainic, M. Gendreau & C. Prins, "A unified solution
framework for multi-attribute vehicle routing problems", European J. of Operational Research 234(3):658,
2014; from memory).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.evaluate.rules.cost import OUT, day_price
from routing.planning.evaluate.rules.judge import Judgement, depot_at, judge
from routing.planning.evaluate.rules.scratch import INFEASIBLE, STOCK, Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Floats, Ints, Records, record
from routing.planning.machine_code.text import inlined, kernel
from routing.planning.search.insertion_slack import note_slack
from routing.planning.search.order import copy

HERE = 0
TRIAL = 1
BEST = 2
SLACK = record("place free_pails rank_before rank_after hauled_m", "free_g load_g")
"""Point i is the start or the i-th stop. Of the place after it: what is free on the trip around it in pails
and mass, the worst health met since a wash and the best still to come until one, what is carried past it, and
the way to it from the last call."""

TRUCK = record("length work_s busy_s stamp moved", "cost")
"""``stamp``: equal in two versions only where the routes are; ``moved``: its refills are where they cost
least."""


class Routes(NamedTuple):
    """Index ``w`` is the version: where the search stands, what it tries, the best so far."""

    stops: Ints
    """[w, k, i]"""
    slack: Records
    """[w, k, i]"""
    trucks: Records
    """[w, k]"""
    free_ml: Ints
    """[w, k, s, i]: free in the tanks on the trip around place i"""
    drawn_ml: Ints
    """[w, k, d, s]"""
    used_ml: Ints
    """[w, d, s]"""
    truck_of: Ints
    """[w, v]"""
    price: Floats
    """[w]"""
    stamps: Ints
    """[0]: the last stamp given"""


def routes_for(tables: Tables, stops: int) -> Routes:
    """Three versions of a day on which no truck has been given a stop, with room for so many a truck."""
    visits, trucks = len(tables.visits), len(tables.trucks)
    depots, kinds = tables.supplies.shape
    points = stops + 3
    return Routes(
        np.zeros((3, trucks, points), np.int64),
        np.zeros((3, trucks, points), SLACK),
        np.zeros((3, trucks), TRUCK),
        np.zeros((3, trucks, kinds, points), np.int64),
        np.zeros((3, trucks, depots, kinds), np.int64),
        np.zeros((3, depots, kinds), np.int64),
        np.full((3, visits), OUT, np.int64),
        np.zeros(3),
        np.zeros(1, np.int64),
    )


@inlined
def price_route(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int) -> Judgement:
    """Judge other stops for a truck, by the stock that the others leave too."""
    cost, fault, work_s, busy_s = judge(t, x, k, stops, m)
    if cost == INFEASIBLE or m == 0 or not t.day[0].limited:
        return cost, fault, work_s, busy_s
    for i in range(m + 1):
        d = depot_at(t, k, stops, i)
        if d < 0:
            continue
        for s in range(len(t.density_g_ml)):
            stock = t.supplies[d][s].stock_ml
            if 0 <= stock < r.used_ml[w][d][s] - r.drawn_ml[w][k][d][s] + x.drawn_ml[d][s]:
                return INFEASIBLE, STOCK, 0, 0
    return cost, fault, work_s, busy_s


@kernel
def put(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int, known: Judgement) -> None:
    """Give a truck other stops, which must keep every rule, and are judged to be ``known``."""
    truck = r.trucks[w][k]
    truck.cost, truck.work_s, truck.busy_s, truck.moved = known[0], known[2], known[3], 0
    r.stamps[0] += 1
    truck.stamp = r.stamps[0]
    if t.day[0].limited:
        judge(t, x, k, stops, m)
        _draw(t, x, r, w, k, stops, m)
    mine, points = r.stops[w][k], r.slack[w][k]
    for i in range(truck.length):
        if mine[i] >= 0:
            r.truck_of[w][mine[i]] = OUT
    truck.length = m
    points[0].place = t.depots[t.trucks[k].start].place
    for i in range(m):
        stop = stops[i]
        mine[i] = stop
        if stop >= 0:
            r.truck_of[w][stop] = k
            points[i + 1].place = t.visits[stop].place
        else:
            points[i + 1].place = t.depots[-1 - stop].place
    points[m + 1].place = t.depots[t.trucks[k].end].place
    note_slack(t, mine, points, r.free_ml[w][k], k, m)


@inlined
def _draw(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int) -> None:
    """Give back the stock that a truck drew, and draw what the route judged last takes."""
    kinds, mine = len(t.density_g_ml), r.drawn_ml[w][k]
    for i in range(r.trucks[w][k].length + 1):
        d = depot_at(t, k, r.stops[w][k], i)
        if d >= 0:
            for s in range(kinds):
                r.used_ml[w][d][s] -= mine[d][s]
                mine[d][s] = 0
    for i in range(m + 1 if m else 0):
        d = depot_at(t, k, stops, i)
        if d >= 0:
            for s in range(kinds):
                r.used_ml[w][d][s] += x.drawn_ml[d][s] - mine[d][s]
                mine[d][s] = x.drawn_ml[d][s]


@inlined
def changed(r: Routes, a: int, b: int, k: int) -> bool:
    """Whether a truck's routes differ in two versions."""
    return bool(r.trucks[a][k].stamp != r.trucks[b][k].stamp)


@kernel
def copy_version(t: Tables, r: Routes, a: int, b: int) -> None:
    """Make version ``b`` like ``a``."""
    for k in range(len(t.trucks)):
        if changed(r, a, b, k):
            for i in range(r.trucks[b][k].length):
                if r.stops[b][k][i] >= 0:
                    r.truck_of[b][r.stops[b][k][i]] = OUT
    for k in range(len(t.trucks)):
        if changed(r, a, b, k):
            _copy_route(t, r, a, b, k)
    if t.day[0].limited:
        for d in range(len(t.depots)):
            copy(r.used_ml[a][d], 0, r.used_ml[b][d], 0, len(t.density_g_ml))
    r.price[b] = r.price[a]


@inlined
def _copy_route(t: Tables, r: Routes, a: int, b: int, k: int) -> None:
    source, target, kinds = r.trucks[a][k], r.trucks[b][k], len(t.density_g_ml)
    m = source.length
    target.length, target.cost, target.work_s, target.busy_s = m, source.cost, source.work_s, source.busy_s
    target.stamp, target.moved = source.stamp, source.moved
    if t.day[0].limited:
        for d in range(len(t.depots)):
            copy(r.drawn_ml[a][k][d], 0, r.drawn_ml[b][k][d], 0, kinds)
    copy(r.stops[a][k], 0, r.stops[b][k], 0, m)
    for i in range(m):
        if r.stops[a][k][i] >= 0:
            r.truck_of[b][r.stops[a][k][i]] = k
    for i in range(m + 2):
        here, there = r.slack[a][k][i], r.slack[b][k][i]
        there.place, there.free_pails, there.free_g = here.place, here.free_pails, here.free_g
        there.rank_before, there.rank_after = here.rank_before, here.rank_after
        there.hauled_m, there.load_g = here.hauled_m, here.load_g
    for s in range(kinds):
        copy(r.free_ml[a][k][s], 0, r.free_ml[b][k][s], 0, m + 1)


@inlined
def price_of(t: Tables, r: Routes, w: int) -> float:
    """The price of a version of the day."""
    return day_price(t, r.trucks[w], r.truck_of[w], t.day[0].required_penalty)
