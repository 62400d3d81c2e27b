"""Put visits into routes where they cost least, under every rule: ``planning.insertion``."""

from __future__ import annotations

import numpy as np

from routing.planning.compiled.order import copy, heap, nth
from routing.planning.compiled.routes import OUT, Routes, put, route_cost
from routing.planning.compiled.scratch import INFEASIBLE, OTHER, Scratch
from routing.planning.compiled.tables import Tables
from routing.planning.machine_code.jit import inlined, jit
from routing.planning.search.insertion import REFILL_ANYWAY, REFILL_TRIES, REFILL_TRUCKS

REFILL_TRUCKS_WITHOUT_LUCK = 15
TRIES_WITHOUT_LUCK = 200
SPREAD_AFTER = 48
TRIES_A_TRUCK = 6
"""After so many tries in all, a truck where so many failed is passed over for others."""

LARGE = 200
NEAR = 100
"""Visits about one that is put back, whose trucks are looked at: on a large day most trucks are far off."""

FITS = 2

Place = tuple[float, int, int]
"""What a visit adds there, the truck, and how many stops its route then has (they are in ``x.best``)."""


@jit
def insert_all(t: Tables, x: Scratch, r: Routes, w: int, count: int, chance: bool) -> None:
    """Insert the first visits of ``x.order``, each where it costs least.

    Those that fit nowhere, or cost more than they are worth, stay out. With ``chance`` places are now and
    then overlooked (blinks), to vary the outcome.
    """
    for i in range(count):
        v = x.order[i]
        cost, k, m = _cheapest(t, x, r, w, v, chance)
        if cost < INFEASIBLE and (t.visits[v].required or cost <= t.visits[v].value):
            put(t, x, r, w, k, x.best, m)


@jit
def _cheapest(t: Tables, x: Scratch, r: Routes, w: int, v: int, chance: bool) -> Place:
    day, found = t.day[0], _places(t, x, r, w, v)
    heap(x.guess, x.ranked, found)
    best, best_k, best_m, tried = INFEASIBLE, -1, 0, 0
    _forget(x)
    for n in range(found):
        j = nth(x.guess, x.ranked, found, n)
        if x.guess[j] >= best or tried >= (day.tries if best < INFEASIBLE else TRIES_WITHOUT_LUCK):
            break
        if not x.looks[j].fits or (chance and np.random.random() < day.blink):
            continue
        k = x.looks[j].truck
        passed_over = tried >= SPREAD_AFTER and x.trucks[k].tries >= TRIES_A_TRUCK
        if passed_over or r.trucks[w, k].length + 2 >= x.trial.size - 3:
            continue
        m = _with_visit(x, r, w, k, x.looks[j].stop, v)
        cost, fault = route_cost(t, x, r, w, k, x.trial, m)
        tried += 1
        if cost - r.trucks[w, k].cost < best:
            best, best_k, best_m = cost - r.trucks[w, k].cost, k, m
            copy(x.trial, 0, x.best, 0, m)
        elif cost == INFEASIBLE:
            x.trucks[k].tries += 1
            x.trucks[k].curable |= fault != OTHER
    if best == INFEASIBLE or (chance and np.random.random() < REFILL_ANYWAY):
        return _with_refill(t, x, r, w, v, found, (best, best_k, best_m))
    return best, best_k, best_m


@inlined
def _forget(x: Scratch) -> None:
    for k in range(x.trucks.size):
        x.trucks[k].curable = x.trucks[k].tries = 0


@inlined
def _with_visit(x: Scratch, r: Routes, w: int, k: int, at: int, v: int) -> int:
    """Write a route with a visit at a place into ``x.trial``; its length."""
    m = r.trucks[w, k].length
    copy(r.stops[w, k], 0, x.trial, 0, at)
    x.trial[at] = v
    copy(r.stops[w, k], at, x.trial, at + 1, m - at)
    return m + 1


@jit
def _with_refill(t: Tables, x: Scratch, r: Routes, w: int, v: int, found: int, so_far: Place) -> Place:
    """Try the visit at the likeliest places of a few trucks with a refill just before or after it."""
    best, best_k, best_m = so_far
    trucks = 0
    for j in range(found):
        k = x.looks[j].truck
        if x.trucks[k].curable == 0 and (not x.looks[j].fits or r.trucks[w, k].length == 0):
            x.trucks[k].curable = 1
        x.trucks[k].tries = 0
    heap(x.guess, x.ranked, found)
    for n in range(found):
        j = nth(x.guess, x.ranked, found, n)
        k = x.looks[j].truck
        if x.guess[j] >= best:
            break
        if not x.trucks[k].curable or x.trucks[k].tries >= REFILL_TRIES:
            continue
        if x.trucks[k].tries == 0:
            if trucks >= (REFILL_TRUCKS if best < INFEASIBLE else REFILL_TRUCKS_WITHOUT_LUCK):
                continue
            trucks += 1
        x.trucks[k].tries += 1
        at, m = x.looks[j].stop, r.trucks[w, k].length
        if m + 2 >= x.trial.size - 3:
            continue
        copy(r.stops[w, k], 0, x.trial, 0, at)
        copy(r.stops[w, k], at, x.trial, at + 2, m - at)
        for c in range(t.trucks[k].calls):
            call = -1 - t.calls[k, c]
            for turn in range(2):
                x.trial[at + turn], x.trial[at + 1 - turn] = call, v
                cost, _ = route_cost(t, x, r, w, k, x.trial, m + 2)
                if cost - r.trucks[w, k].cost < best:
                    best, best_k, best_m = cost - r.trucks[w, k].cost, k, m + 2
                    copy(x.trial, 0, x.best, 0, m + 2)
    return best, best_k, best_m


@jit
def _places(t: Tables, x: Scratch, r: Routes, w: int, v: int) -> int:
    """Write the places that the hours may allow, with a guess of the price; of idle twins only one."""
    found = 0
    _forget(x)
    _mark_near(t, x, r, w, v)
    for k in range(len(t.trucks)):
        if t.crews[k, v].allowed != FITS or not x.trucks[k].near:
            continue
        if r.trucks[w, k].length == 0:
            twin = t.trucks[k].twin
            if x.trucks[twin].tries:
                continue
            x.trucks[twin].tries = 1
        found = _places_of(t, x, r, w, k, v, found)
    return found


@inlined
def _mark_near(t: Tables, x: Scratch, r: Routes, w: int, v: int) -> None:
    """Mark trucks that come near a visit, and empty ones; all on small days and for what must be fed."""
    all_near = len(t.visits) <= LARGE or t.visits[v].required
    for k in range(len(t.trucks)):
        x.trucks[k].near = all_near or r.trucks[w, k].length == 0
    if not all_near:
        for i in range(NEAR):
            k = r.truck_of[w, t.near[v, i]]
            if k != OUT:
                x.trucks[k].near = 1


@inlined
def _places_of(t: Tables, x: Scratch, r: Routes, w: int, k: int, v: int, found: int) -> int:
    """Write the places in one route, with what the visit would add there by way, wages and fuel."""
    truck, visit, m = t.trucks[k], t.visits[v], r.trucks[w, k].length
    # What is aboard already needs no loading: its time is a guess, and no reason to rule a place out.
    stand_s = t.crews[k, v].service_s + visit.least_loading_s
    spare_s = (
        min(truck.max_s, truck.latest_s - truck.earliest_s) - r.trucks[w, k].busy_s - t.crews[k, v].service_s
    )
    # A truck in mid-day drives home also without a stop.
    under_way = m > 0 or r.trucks[w, k].busy_s > 0
    here, table = visit.place, truck.matrix
    empty_m = truck.per_m + truck.fuel_price * truck.fuel_empty
    fuel_g_m = truck.fuel_price * truck.fuel_per_g
    ordinary_s = max(0, truck.ordinary_s - r.trucks[w, k].work_s)
    for at in range(min(m + 1, x.guess.size - found)):
        a, b = r.points[w, k, at].place, r.points[w, k, at + 1].place
        to_m = t.legs[table, a, here].metres
        longer_m = to_m + t.legs[table, here, b].metres
        longer_s = t.legs[table, a, here].drive_s + t.legs[table, here, b].drive_s
        if under_way:
            longer_m -= t.legs[table, a, b].metres
            longer_s -= t.legs[table, a, b].drive_s
        if longer_s > spare_s:
            continue
        added_s = longer_s + stand_s
        guess = longer_m * (empty_m + fuel_g_m * r.points[w, k, at].load_g) + added_s * truck.per_s
        guess += (r.points[w, k, at].hauled_m + to_m) * visit.mass_g * fuel_g_m
        guess += max(0.0, added_s - ordinary_s) * truck.overtime_per_s
        x.guess[found] = guess if under_way else guess + truck.fixed
        x.looks[found].truck, x.looks[found].stop = k, at
        x.looks[found].fits = _has_room(t, r, w, k, v, at)
        found += 1
    return found


@inlined
def _has_room(t: Tables, r: Routes, w: int, k: int, v: int, at: int) -> bool:
    visit = t.visits[v]
    if not r.points[w, k, at].rank_before <= visit.rank <= r.points[w, k, at].rank_after:
        return False
    if r.points[w, k, at].room_g + 1 < visit.mass_g or r.points[w, k, at].room_pails < visit.pails:
        return False
    for s in range(t.density_g_ml.size):
        if t.asked[v, s].bulk_ml > 0 and r.room_ml[w, k, s, at] < t.asked[v, s].bulk_ml:
            return False
    return True
