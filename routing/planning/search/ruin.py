"""Take strings of neighbouring visits out of routes, and leave the routes tidy.

Slack induction by string removals (J. Christiaens & G. Vanden Berghe, Transportation Science 54(2):417,
2020).
"""

from __future__ import annotations

from routing.planning.evaluate.rules.cost import OUT
from routing.planning.evaluate.rules.judge import Judgement
from routing.planning.evaluate.rules.scratch import INFEASIBLE, LAWFUL, Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.text import inlined, kernel
from routing.planning.search.chance import below, between, share
from routing.planning.search.order import copy
from routing.planning.search.routes import HERE, TRIAL, Routes, price_route, put
from routing.planning.search.trials import Trials

MEAN_REMOVED = 8
LONGEST_STRING = 10.0
AROUND_LEFT = 0.5


Tidied = tuple[int, Judgement]
"""How many stops there are in ``y.route``, and what the route is judged to be."""


@kernel
def drop_calls(
    t: Tables, x: Scratch, r: Routes, y: Trials, w: int, k: int, m: int, known: Judgement
) -> Tidied:
    """Take calls that are not needed out of ``y.route``, which is judged to be ``known``."""
    stops = y.route
    visits = 0
    for i in range(m):
        visits += stops[i] >= 0
    if visits == 0:
        return 0, price_route(t, x, r, w, k, stops, 0)
    for at in range(m - 1, -1, -1):
        if stops[at] >= 0:
            continue
        copy(stops, 0, y.other, 0, at)
        copy(stops, at + 1, y.other, at, m - 1 - at)
        judged = price_route(t, x, r, w, k, y.other, m - 1)
        less, cost = judged[0], known[0]
        idle = at == m - 1 or stops[at + 1] < 0
        if less <= cost < INFEASIBLE or less < cost or (less == cost and idle):
            m, known = m - 1, judged
            copy(y.other, at, stops, at, m - at)
    return m, known


@kernel
def tidy(t: Tables, x: Scratch, r: Routes, y: Trials, w: int, k: int, m: int, known: Judgement) -> Tidied:
    """Take calls that are not needed out of ``y.route``, and turn round trips that are cheaper backwards."""
    m, known = drop_calls(t, x, r, y, w, k, m, known)
    start, stops = 0, y.route
    for end in range(m + 1):
        if end < m and stops[end] >= 0:
            continue
        if end - start > 1:
            copy(stops, 0, y.other, 0, m)
            for i in range(start, end):
                y.other[i] = stops[start + end - 1 - i]
            judged = price_route(t, x, r, w, k, y.other, m)
            if judged[0] < known[0]:
                known = judged
                copy(y.other, start, stops, start, end - start)
        start = end + 1
    return m, known


@inlined
def ruin(t: Tables, x: Scratch, r: Routes, y: Trials) -> int:
    """Take strings out of the trial's routes around a random visit, and return it; -1 where all is out.

    In the rest of a day half of them lie around a visit that is left out: what went wrong is there.
    """
    routes, stops = 0, 0
    for k in range(len(t.trucks)):
        routes += r.trucks[TRIAL][k].length > 0
        stops += r.trucks[TRIAL][k].length
        y.trucks[k].curable = 0
    if not routes:
        return -1
    longest = min(LONGEST_STRING, stops / routes)
    strings = int(between(y.chance, 1.0, 4 * MEAN_REMOVED / (1 + longest)))
    centre = _centre(t, r, y)
    near = t.near[centre]
    for i in range(len(near)):
        v = near[i]
        k = r.truck_of[TRIAL][v]
        if k == OUT or y.trucks[k].curable:
            continue
        if strings <= 0:
            break
        strings -= 1
        y.trucks[k].curable = 1
        _cut(t, x, r, y, k, v, longest)
    return centre


@inlined
def _centre(t: Tables, r: Routes, y: Trials) -> int:
    visits = len(t.visits)
    if t.day[0].told and share(y.chance) < AROUND_LEFT:
        count = 0
        for v in range(visits):
            if r.truck_of[HERE][v] == OUT:
                y.order[count] = v
                count += 1
        if count:
            return int(y.order[below(y.chance, count)])
    return below(y.chance, visits)


@inlined
def _cut(t: Tables, x: Scratch, r: Routes, y: Trials, k: int, v: int, longest: float) -> None:
    """Take a string of visits about one of them out of a route."""
    stops, m, at = r.stops[TRIAL][k], r.trucks[TRIAL][k].length, 0
    while stops[at] != v:
        at += 1
    length = int(between(y.chance, 1.0, min(float(m), longest) + 1))
    first = max(0, min(at - below(y.chance, length), m - length))
    kept = 0
    for i in range(m):
        stop = stops[i]
        if stop < 0 or not first <= i < first + length:
            y.route[kept] = stop
            kept += 1
    kept, known = drop_calls(t, x, r, y, TRIAL, k, kept, price_route(t, x, r, TRIAL, k, y.route, kept))
    if known[0] == INFEASIBLE:
        kept, known = 0, price_route(t, x, r, TRIAL, k, y.route, 0)
    put(t, x, r, TRIAL, k, y.route, kept, known)


@kernel
def move_refills(t: Tables, x: Scratch, r: Routes, y: Trials, w: int, k: int) -> None:
    """Try other depots for each refill of a route, one place earlier or later too, until none helps."""
    if r.trucks[w][k].moved:
        return
    at = 0
    while at < r.trucks[w][k].length:
        at = 0 if r.stops[w][k][at] < 0 and _move_refill(t, x, r, y, w, k, at) else at + 1
    r.trucks[w][k].moved = 1


@inlined
def _move_refill(t: Tables, x: Scratch, r: Routes, y: Trials, w: int, k: int, at: int) -> bool:
    """Give one refill the best place near it; whether a better one was found."""
    m, stops = r.trucks[w][k].length, r.stops[w][k]
    best, best_m = r.trucks[w][k].cost, 0
    known = (best, LAWFUL, 0, 0)
    for place in range(max(0, at - 1), min(at + 2, m)):
        kept, beside = 0, -1
        for i in range(m):
            if i != at:
                y.route[kept + (kept >= place)] = stops[i]
                if stops[i] >= 0 and (kept < place or beside < 0):
                    beside = stops[i]
                kept += 1
        if beside < 0:
            continue
        for call in t.calls[t.trucks[k].group][beside]:
            if call < 0:
                break
            y.route[place] = -1 - call
            judged = price_route(t, x, r, w, k, y.route, m)
            if judged[0] < best - 1e-9:
                best, best_m, known = judged[0], m, judged
                copy(y.route, 0, y.best, 0, m)
    if best_m:
        put(t, x, r, w, k, y.best, m, known)
    return best_m > 0
