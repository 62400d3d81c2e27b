"""Take strings of neighbouring visits out of routes, and leave the routes tidy: ``planning.search``."""

from __future__ import annotations

import numpy as np

from routing.planning.compiled.order import copy
from routing.planning.compiled.routes import HERE, OUT, TRIAL, Routes, put, route_cost
from routing.planning.compiled.scratch import INFEASIBLE, Scratch
from routing.planning.compiled.tables import Ints, Tables
from routing.planning.machine_code.jit import jit
from routing.planning.search.search import AROUND_LEFT


@jit
def tidy(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int) -> tuple[int, float]:
    """Take out calls that are not needed, turn round trips that are cheaper backwards; length and cost."""
    visits = 0
    for i in range(m):
        visits += stops[i] >= 0
    if not visits:
        return 0, route_cost(t, x, r, w, k, stops, 0)[0]
    cost, _ = route_cost(t, x, r, w, k, stops, m)
    for at in range(m - 1, -1, -1):
        if stops[at] >= 0:
            continue
        copy(stops, 0, x.trial2, 0, at)
        copy(stops, at + 1, x.trial2, at, m - 1 - at)
        less, _ = route_cost(t, x, r, w, k, x.trial2, m - 1)
        idle = at == m - 1 or stops[at + 1] < 0
        if less <= cost < INFEASIBLE or less < cost or (less == cost and idle):
            m, cost = m - 1, less
            copy(x.trial2, at, stops, at, m - at)
    return m, _turn_trips(t, x, r, w, k, stops, m, cost)


@jit
def _turn_trips(t: Tables, x: Scratch, r: Routes, w: int, k: int, stops: Ints, m: int, cost: float) -> float:
    start = 0
    for end in range(m + 1):
        if end < m and stops[end] >= 0:
            continue
        if end - start > 1:
            copy(stops, 0, x.trial2, 0, m)
            for i in range(start, end):
                x.trial2[i] = stops[start + end - 1 - i]
            less, _ = route_cost(t, x, r, w, k, x.trial2, m)
            if less < cost:
                cost = less
                copy(x.trial2, start, stops, start, end - start)
        start = end + 1
    return cost


@jit
def ruin(t: Tables, x: Scratch, r: Routes) -> int:
    """Take strings out of the trial's routes around a random visit, and tell which; -1 where all is out.

    In the rest of a day half of them lie around a visit that is left out: what went wrong is there.
    """
    routes, stops = 0, 0
    for k in range(len(t.trucks)):
        routes += r.trucks[TRIAL, k].length > 0
        stops += r.trucks[TRIAL, k].length
    if not routes:
        return -1
    longest = min(float(t.day[0].longest_string), stops / routes)
    strings = int(np.random.uniform(1, 4 * t.day[0].mean_removed / (1 + longest)))
    centre = _centre(t, x, r)
    for k in range(x.trucks.size):
        x.trucks[k].curable = 0
    for i in range(len(t.visits)):
        v = t.near[centre, i]
        k = r.truck_of[TRIAL, v]
        if k == OUT or x.trucks[k].curable:
            continue
        if strings <= 0:
            break
        strings -= 1
        x.trucks[k].curable = 1
        _cut(t, x, r, k, v, longest)
    return centre


@jit
def _centre(t: Tables, x: Scratch, r: Routes) -> int:
    visits = len(t.visits)
    if t.day[0].habit and np.random.random() < AROUND_LEFT:
        count = 0
        for v in range(visits):
            if r.truck_of[HERE, v] == OUT:
                x.order[count] = v
                count += 1
        if count:
            return x.order[np.random.randint(count)]
    return np.random.randint(visits)


@jit
def _cut(t: Tables, x: Scratch, r: Routes, k: int, v: int, longest: float) -> None:
    """Take a string of visits about one of them out of a route."""
    m, at = r.trucks[TRIAL, k].length, 0
    while r.stops[TRIAL, k, at] != v:
        at += 1
    length = int(np.random.uniform(1, min(float(m), longest) + 1))
    first = max(0, min(np.random.randint(at - length + 1, at + 1), m - length))
    kept = 0
    for i in range(m):
        stop = r.stops[TRIAL, k, i]
        if stop < 0 or not first <= i < first + length:
            x.trial[kept] = stop
            kept += 1
    kept, cost = tidy(t, x, r, TRIAL, k, x.trial, kept)
    put(t, x, r, TRIAL, k, x.trial, kept if cost < INFEASIBLE else 0)


@jit
def move_refills(t: Tables, x: Scratch, r: Routes, w: int, k: int) -> None:
    """Try every other depot for each refill of a route, one place earlier or later too, until none helps."""
    at = 0
    while at < r.trucks[w, k].length:
        at = 0 if r.stops[w, k, at] < 0 and _move_refill(t, x, r, w, k, at) else at + 1


@jit
def _move_refill(t: Tables, x: Scratch, r: Routes, w: int, k: int, at: int) -> bool:
    """Give one refill the best place near it; whether a better one was found."""
    m, stops = r.trucks[w, k].length, r.stops[w, k]
    best, moved = r.trucks[w, k].cost, False
    for place in range(max(0, at - 1), min(at + 2, m)):
        kept = 0
        for i in range(m):
            if i != at:
                x.trial[kept + (kept >= place)] = stops[i]
                kept += 1
        for c in range(t.trucks[k].calls):
            x.trial[place] = -1 - t.calls[k, c]
            cost, _ = route_cost(t, x, r, w, k, x.trial, m)
            if cost < best - 1e-9:
                best, moved = cost, True
                copy(x.trial, 0, x.best, 0, m)
    if moved:
        put(t, x, r, w, k, x.best, m)
    return moved
