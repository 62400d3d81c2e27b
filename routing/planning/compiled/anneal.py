"""Steps of the annealed search: ``planning.search.improve``."""

from __future__ import annotations

import numpy as np

from routing.planning.compiled.insertion import insert_all
from routing.planning.compiled.order import copy, sort_by
from routing.planning.compiled.routes import (
    BEST,
    HERE,
    OUT,
    TRIAL,
    Routes,
    copy_changed,
    price_of,
    put,
    route_cost,
)
from routing.planning.compiled.ruin import move_refills, ruin, tidy
from routing.planning.compiled.scratch import INFEASIBLE, Scratch
from routing.planning.compiled.tables import Tables
from routing.planning.machine_code.jit import jit
from routing.planning.search.search import LEFT_TRIED

LEFT_TRIED_AT_MOST = 16
ORDERS = 6
BEFORE_ALL = 1e15


@jit
def begin(t: Tables, x: Scratch, r: Routes, still: bool) -> int:
    """Take over the trial's routes, in all versions; the first truck whose route is not lawful, or -1.

    ``still``: with refills where they are.
    """
    r.used_ml[:] = 0
    r.drawn_ml[:] = 0
    r.truck_of[:] = OUT
    for k in range(len(t.trucks)):
        r.trucks[HERE, k].length = r.trucks[BEST, k].length = 0
    for k in range(len(t.trucks)):
        stops, m = r.stops[TRIAL, k], r.trucks[TRIAL, k].length
        if route_cost(t, x, r, HERE, k, stops, m)[0] == INFEASIBLE:
            return k
        put(t, x, r, HERE, k, stops, m)
        r.trucks[TRIAL, k].length = 0
    for k in range(0 if still else len(t.trucks)):
        move_refills(t, x, r, HERE, k)
    r.price[HERE] = price_of(t, r, HERE)
    copy_changed(t, r, HERE, TRIAL, True)
    copy_changed(t, r, HERE, BEST, True)
    _settle(r)
    return -1


@jit
def anneal(t: Tables, x: Scratch, r: Routes, steps: int, heat: float, cooling: float) -> bool:
    """Ruin and rebuild so many times, ever cooler; whether a better plan was found."""
    better = False
    for _ in range(steps):
        for v in range(len(t.visits)):
            x.left[v] = r.truck_of[HERE, v] == OUT
        around = ruin(t, x, r)
        insert_all(t, x, r, TRIAL, _order(t, x, r, around), True)
        for k in range(len(t.trucks)):
            if r.trucks[TRIAL, k].changed:
                m = r.trucks[TRIAL, k].length
                copy(r.stops[TRIAL, k], 0, x.trial, 0, m)
                m, _ = tidy(t, x, r, TRIAL, k, x.trial, m)
                put(t, x, r, TRIAL, k, x.trial, m)
        price = r.price[TRIAL] = price_of(t, r, TRIAL)
        accepted = price < r.price[HERE] - heat * np.log(1.0 - np.random.random())
        if price < r.price[BEST] - 1e-9:
            better = accepted = True
            for k in range(len(t.trucks)):
                move_refills(t, x, r, TRIAL, k)
            r.price[TRIAL] = price_of(t, r, TRIAL)
            copy_changed(t, r, TRIAL, BEST, True)
        if accepted:
            copy_changed(t, r, TRIAL, HERE, False)
        else:
            copy_changed(t, r, HERE, TRIAL, False)
        _settle(r)
        heat *= cooling
    return better


@jit
def _settle(r: Routes) -> None:
    for k in range(r.trucks.shape[1]):
        r.trucks[TRIAL, k].changed = 0


@jit
def _order(t: Tables, x: Scratch, r: Routes, around: int) -> int:
    """Write what to put back: required first, then by chance the large, far, valuable, early or any."""
    count = _to_place(t, x, r, around)
    for i in range(count - 1, 0, -1):
        j = np.random.randint(i + 1)
        x.order[i], x.order[j] = x.order[j], x.order[i]
    by = np.random.randint(ORDERS)
    for i in range(count):
        visit = t.visits[x.order[i]]
        key = 0.0
        if by == 0:
            key = -visit.mass_g
        elif by == 1:
            key = -float(t.legs[0, t.depots[0].place, visit.place].metres)
        elif by == 2:
            key = -visit.value
        elif by == 3:
            key = float(visit.latest_s)
        x.guess[i] = key - BEFORE_ALL * visit.required
    sort_by(x.guess, x.order, count)
    return count


@jit
def _to_place(t: Tables, x: Scratch, r: Routes, around: int) -> int:
    """Write what was taken out, what must be fed, and those next to it that were left out before; how many.

    Few of them in the rest of a day, where seconds count. Where hundreds are left out, trying all of them at
    each step would leave time for few steps.
    """
    few = around >= 0
    most = LEFT_TRIED if t.day[0].habit else LEFT_TRIED_AT_MOST
    count = 0
    for v in range(len(t.visits)):
        if r.truck_of[TRIAL, v] == OUT and not (few and x.left[v] and not t.visits[v].required):
            x.order[count] = v
            count += 1
    if few:
        tried = 0
        for v in t.near[around]:
            if tried >= most:
                break
            if x.left[v] and not t.visits[v].required:
                x.order[count] = v
                count, tried = count + 1, tried + 1
    return count
