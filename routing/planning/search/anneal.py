"""Improve a day: ruin a neighbourhood, rebuild it, keep what is cheaper, and at first also what is not.

Ruin and recreate under simulated annealing, every route judged exactly, so that what routing engines cannot
state (filling by amount, breaks, stock, driving hours, fuel by load, balance) is kept to the second.
"""

from __future__ import annotations

from math import log

from routing.planning.evaluate.rules.cost import OUT
from routing.planning.evaluate.rules.scratch import INFEASIBLE, LAWFUL, Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.text import inlined, kernel
from routing.planning.search.chance import below, share
from routing.planning.search.insertion import LARGE, insert_all
from routing.planning.search.order import copy, sort_by
from routing.planning.search.routes import (
    BEST,
    HERE,
    TRIAL,
    Routes,
    changed,
    copy_version,
    price_of,
    price_route,
    put,
)
from routing.planning.search.ruin import move_refills, ruin, tidy
from routing.planning.search.trials import Trials

LEFT_TRIED = 4
LEFT_TRIED_ON_SMALL_DAYS = 16
"""Visits left out before a step that it tries again."""

ORDERS = 6
BEFORE_ALL = 1e15


@kernel
def begin(t: Tables, x: Scratch, r: Routes, y: Trials) -> int:
    """Take over the trial's routes, in all versions; the first truck whose route is not lawful, or -1."""
    for k in range(len(t.trucks)):
        r.trucks[HERE][k].length = 0
        r.trucks[HERE][k].stamp = r.trucks[BEST][k].stamp = -1
        r.trucks[BEST][k].length = 0
        for w in range(3):
            for d in range(len(t.depots)):
                for s in range(len(t.density_g_ml)):
                    r.used_ml[w][d][s] = r.drawn_ml[w][k][d][s] = 0
    for v in range(len(t.visits)):
        y.left[v] = 0
        r.truck_of[HERE][v] = r.truck_of[TRIAL][v] = r.truck_of[BEST][v] = OUT
    for k in range(len(t.trucks)):
        stops, m = r.stops[TRIAL][k], r.trucks[TRIAL][k].length
        known = price_route(t, x, r, HERE, k, stops, m)
        if known[0] == INFEASIBLE:
            return k
        put(t, x, r, HERE, k, stops, m, known)
        r.trucks[TRIAL][k].length, r.trucks[TRIAL][k].stamp = 0, -1
    r.price[HERE] = price_of(t, r, HERE)
    copy_version(t, r, HERE, TRIAL)
    copy_version(t, r, HERE, BEST)
    return -1


@kernel
def settle(t: Tables, x: Scratch, r: Routes, y: Trials) -> None:
    """Give every refill of the best routes its best place: another truck may have given stock back."""
    copy_version(t, r, BEST, HERE)
    for k in range(len(t.trucks)):
        r.trucks[HERE][k].moved = 0
        move_refills(t, x, r, y, HERE, k)
    r.price[HERE] = price_of(t, r, HERE)
    copy_version(t, r, HERE, TRIAL)
    copy_version(t, r, HERE, BEST)


@kernel
def anneal(t: Tables, x: Scratch, r: Routes, y: Trials, steps: int, heat: float, cooling: float) -> bool:
    """Ruin and rebuild so many times, ever cooler; whether a better plan was found."""
    better = False
    for _ in range(steps):
        for v in range(len(t.visits)):
            y.left[v] = r.truck_of[HERE][v] == OUT
        around = ruin(t, x, r, y)
        insert_all(t, x, r, y, TRIAL, _order(t, r, y, around), True)
        for k in range(len(t.trucks)):
            if changed(r, TRIAL, HERE, k):
                truck = r.trucks[TRIAL][k]
                copy(r.stops[TRIAL][k], 0, y.route, 0, truck.length)
                known = (truck.cost, LAWFUL, truck.work_s, truck.busy_s)
                m, known = tidy(t, x, r, y, TRIAL, k, truck.length, known)
                if known[0] != truck.cost or m != truck.length:
                    put(t, x, r, TRIAL, k, y.route, m, known)
        price = price_of(t, r, TRIAL)
        r.price[TRIAL] = price
        accepted = price < r.price[HERE] - heat * log(share(y.chance))
        if price < r.price[BEST] - 1e-9:
            better = accepted = True
            for k in range(len(t.trucks)):
                move_refills(t, x, r, y, TRIAL, k)
            r.price[TRIAL] = price_of(t, r, TRIAL)
            copy_version(t, r, TRIAL, BEST)
        if accepted:
            copy_version(t, r, TRIAL, HERE)
        else:
            copy_version(t, r, HERE, TRIAL)
        heat *= cooling
    return better


@inlined
def _order(t: Tables, r: Routes, y: Trials, around: int) -> int:
    """Write what to put back: required first, then by chance the large, far, valuable, early or any."""
    count = _to_place(t, r, y, around)
    for i in range(count - 1, 0, -1):
        j = below(y.chance, i + 1)
        y.order[i], y.order[j] = y.order[j], y.order[i]
    by = below(y.chance, ORDERS)
    home = t.legs[0][t.depots[0].place]
    for i in range(count):
        visit = t.visits[y.order[i]]
        key = 0.0
        if by == 0:
            key = -visit.mass_g
        elif by == 1:
            key = -float(home[visit.place].metres)
        elif by == 2:
            key = -visit.value
        elif by == 3:
            key = float(visit.latest_s)
        y.guess[i] = key - BEFORE_ALL * visit.required
    sort_by(y.guess, y.order, count)
    return count


@inlined
def _to_place(t: Tables, r: Routes, y: Trials, around: int) -> int:
    """Write what was taken out, what must be fed, and those next to it that were left out before; how many.

    Few of them in the rest of a day, where seconds count, and on large days. Where hundreds are left out,
    trying all of them at each step would leave time for few steps.
    """
    few = around >= 0
    most = LEFT_TRIED if t.day[0].told or len(t.visits) > LARGE else LEFT_TRIED_ON_SMALL_DAYS
    count = 0
    for v in range(len(t.visits)):
        if r.truck_of[TRIAL][v] == OUT and not (few and y.left[v] and not t.visits[v].required):
            y.order[count] = v
            count += 1
    if few:
        tried, near = 0, t.near[around]
        for i in range(len(near)):
            v = near[i]
            if tried >= most:
                break
            if y.left[v] and not t.visits[v].required:
                y.order[count] = v
                count, tried = count + 1, tried + 1
    return count
