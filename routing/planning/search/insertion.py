"""Put visits into routes where they cost least, under every rule."""

from __future__ import annotations

from routing.planning.evaluate.rules.cost import OUT
from routing.planning.evaluate.rules.judge import Judgement
from routing.planning.evaluate.rules.scratch import ACCESS, CURABLE, INFEASIBLE, Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.text import inlined, kernel
from routing.planning.search.chance import share
from routing.planning.search.order import copy, heap, nth
from routing.planning.search.routes import HERE, Routes, changed, price_route, put
from routing.planning.search.trials import Trials

TRIES = 12
TRIES_WITHOUT_LUCK = 200
SPREAD_AFTER = 48
TRIES_A_TRUCK = 6
"""After so many tries in all, a truck where so many failed is passed over for others."""

REFILL_TRIES = 3
REFILL_TRUCKS = 5
REFILL_TRUCKS_WITHOUT_LUCK = 15
REFILL_ANYWAY = 0.1
BLINK = 0.05

LARGE = 200
NEAR = 40
"""Visits about one that is put back, whose trucks are looked at: on a large day most trucks are far off."""

NO_TIME_S = -120
"""A truck with less time to spare than this cannot take a visit, even where a way round is the shorter
one."""

FITS = 2

Place = tuple[float, int, int, Judgement]
"""What a visit adds there, the truck, how many stops its route then has (they are in ``y.best``), and what
that is
judged to be."""


@kernel
def insert_all(t: Tables, x: Scratch, r: Routes, y: Trials, w: int, count: int, chance: bool) -> None:
    """Insert the first visits of ``y.order``, each where it costs least.

    Those that fit nowhere, or cost more than they are worth, stay out. With ``chance`` places are now and
    then overlooked (blinks), to vary the outcome.
    """
    for i in range(count):
        v = y.order[i]
        added, k, m, known = _cheapest(t, x, r, y, w, v, chance)
        if added < INFEASIBLE and (t.visits[v].required or added <= t.visits[v].value):
            put(t, x, r, w, k, y.best, m, known)


@kernel
def _cheapest(t: Tables, x: Scratch, r: Routes, y: Trials, w: int, v: int, chance: bool) -> Place:
    found = _places(t, r, y, w, v)
    heap(y.guess, y.ranked, found)
    best, best_k, best_m, tried = INFEASIBLE, -1, 0, 0
    known = (INFEASIBLE, ACCESS, 0, 0)
    _forget(y)
    for n in range(found):
        j = nth(y.guess, y.ranked, found, n)
        if y.guess[j] >= best or tried >= (TRIES if best < INFEASIBLE else TRIES_WITHOUT_LUCK):
            break
        if not y.places[j].fits or (chance and share(y.chance) < BLINK):
            continue
        k = y.places[j].truck
        passed_over = tried >= SPREAD_AFTER and y.trucks[k].tries >= TRIES_A_TRUCK
        if passed_over or r.trucks[w][k].length + 1 >= len(y.route) - 3:
            continue
        m = _with_visit(r, y, w, k, y.places[j].stop, v)
        judged = price_route(t, x, r, w, k, y.route, m)
        tried += 1
        if judged[0] - r.trucks[w][k].cost < best:
            best, best_k, best_m, known = judged[0] - r.trucks[w][k].cost, k, m, judged
            copy(y.route, 0, y.best, 0, m)
        elif judged[0] == INFEASIBLE:
            y.trucks[k].tries += 1
            if judged[1] <= CURABLE:
                y.trucks[k].curable = 1
    if best == INFEASIBLE or (chance and share(y.chance) < REFILL_ANYWAY):
        return _with_refill(t, x, r, y, w, v, found, (best, best_k, best_m, known))
    return best, best_k, best_m, known


@inlined
def _forget(y: Trials) -> None:
    for k in range(len(y.trucks)):
        y.trucks[k].curable = y.trucks[k].tries = 0


@inlined
def _with_visit(r: Routes, y: Trials, w: int, k: int, at: int, v: int) -> int:
    """Write a route with a visit at a place into ``y.route``; its length."""
    m = r.trucks[w][k].length
    copy(r.stops[w][k], 0, y.route, 0, at)
    y.route[at] = v
    copy(r.stops[w][k], at, y.route, at + 1, m - at)
    return m + 1


@kernel
def _with_refill(
    t: Tables, x: Scratch, r: Routes, y: Trials, w: int, v: int, found: int, so_far: Place
) -> Place:
    """Try the visit at the likeliest places of a few trucks with a refill just before or after it."""
    best, best_k, best_m, known = so_far
    trucks = 0
    for j in range(found):
        k = y.places[j].truck
        if y.trucks[k].curable == 0 and (not y.places[j].fits or r.trucks[w][k].length == 0):
            y.trucks[k].curable = 1
        y.trucks[k].tries = 0
    heap(y.guess, y.ranked, found)
    for n in range(found):
        j = nth(y.guess, y.ranked, found, n)
        k = y.places[j].truck
        if y.guess[j] >= best:
            break
        if not y.trucks[k].curable or y.trucks[k].tries >= REFILL_TRIES:
            continue
        if y.trucks[k].tries == 0:
            if trucks >= (REFILL_TRUCKS if best < INFEASIBLE else REFILL_TRUCKS_WITHOUT_LUCK):
                continue
            trucks += 1
        y.trucks[k].tries += 1
        at, m = y.places[j].stop, r.trucks[w][k].length
        if m + 2 >= len(y.route) - 3:
            continue
        copy(r.stops[w][k], 0, y.route, 0, at)
        copy(r.stops[w][k], at, y.route, at + 2, m - at)
        for call in t.calls[t.trucks[k].group][v]:
            if call < 0:
                break
            for turn in range(2):
                if _least_added(t, r, w, k, v, at, call, turn) >= best:
                    continue
                y.route[at + turn], y.route[at + 1 - turn] = -1 - call, v
                judged = price_route(t, x, r, w, k, y.route, m + 2)
                if judged[0] - r.trucks[w][k].cost < best:
                    best, best_k, best_m, known = judged[0] - r.trucks[w][k].cost, k, m + 2, judged
                    copy(y.route, 0, y.best, 0, m + 2)
    return best, best_k, best_m, known


@inlined
def _least_added(t: Tables, r: Routes, w: int, k: int, v: int, at: int, call: int, turn: int) -> float:
    """What a visit with a call just before or after it adds at least, but for waits that it may fill.

    Infinite where the truck's hours do not suffice.
    """
    truck, visit = t.trucks[k], t.visits[v]
    legs, depot, here = t.legs[truck.matrix], t.depots[call].place, visit.place
    first, second = (depot, here) if turn == 0 else (here, depot)
    a, b = r.slack[w][k][at].place, r.slack[w][k][at + 1].place
    longer_m = legs[a][first].metres + legs[first][second].metres + legs[second][b].metres
    longer_s = legs[a][first].drive_s + legs[first][second].drive_s + legs[second][b].drive_s
    if r.trucks[w][k].length > 0 or r.trucks[w][k].busy_s > 0:
        longer_m -= legs[a][b].metres
        longer_s -= legs[a][b].drive_s
    longer_s += t.crews[k][v].service_s
    if longer_s > _spare_s(t, r, w, k):
        return INFEASIBLE
    return longer_m * (truck.per_m + truck.fuel_price * truck.fuel_empty) + longer_s * truck.per_s


@inlined
def _spare_s(t: Tables, r: Routes, w: int, k: int) -> int:
    """Seconds of a truck's hours that are not taken up."""
    truck = t.trucks[k]
    return int(min(truck.max_s, truck.latest_s - truck.earliest_s) - r.trucks[w][k].busy_s)


@inlined
def _places(t: Tables, r: Routes, y: Trials, w: int, v: int) -> int:
    """Write the places that the hours may allow, with a guess of the price; of idle trucks alike only one."""
    found = 0
    _forget(y)
    _mark_near(t, r, y, w, v)
    for k in range(len(t.trucks)):
        if t.crews[k][v].allowed != FITS or not y.trucks[k].near:
            continue
        if r.trucks[w][k].length == 0:
            alike = t.trucks[k].identical_to
            if y.trucks[alike].tries:
                continue
            y.trucks[alike].tries = 1
        if _spare_s(t, r, w, k) - t.crews[k][v].service_s >= NO_TIME_S:
            found = _places_of(t, r, y, w, k, v, found)
    return found


@inlined
def _mark_near(t: Tables, r: Routes, y: Trials, w: int, v: int) -> None:
    """Mark trucks that come near a visit, and empty ones; all on small days and for what must be fed.

    Where a visit was left out before the step, only trucks whose routes it changed are worth another look.
    """
    all_near = len(t.visits) <= LARGE or t.visits[v].required
    for k in range(len(t.trucks)):
        y.trucks[k].near = all_near or r.trucks[w][k].length == 0
    if all_near:
        return
    near = t.near[v]
    for i in range(NEAR):
        k = r.truck_of[w][near[i]]
        if k != OUT and (not y.left[v] or changed(r, w, HERE, k)):
            y.trucks[k].near = 1


@inlined
def _places_of(t: Tables, r: Routes, y: Trials, w: int, k: int, v: int, found: int) -> int:
    """Write the places in one route, with what the visit would add there by way, wages and fuel."""
    truck, visit, mine, points = t.trucks[k], t.visits[v], r.trucks[w][k], r.slack[w][k]
    # What is aboard already needs no loading: its time is a guess, and no reason to rule a place out.
    stand_s = t.crews[k][v].service_s + visit.least_loading_s
    spare_s = _spare_s(t, r, w, k) - t.crews[k][v].service_s
    # A truck in mid-day drives home also without a stop.
    under_way = mine.length > 0 or mine.busy_s > 0
    here, legs = visit.place, t.legs[truck.matrix]
    away = legs[here]
    empty_m = truck.per_m + truck.fuel_price * truck.fuel_empty
    fuel_g_m = truck.fuel_price * truck.fuel_per_g
    ordinary_s = max(0, truck.ordinary_s - mine.work_s)
    for at in range(min(mine.length + 1, len(y.guess) - found)):
        a, b = points[at].place, points[at + 1].place
        to_m = legs[a][here].metres
        longer_m = to_m + away[b].metres
        longer_s = legs[a][here].drive_s + away[b].drive_s
        if under_way:
            longer_m -= legs[a][b].metres
            longer_s -= legs[a][b].drive_s
        if longer_s > spare_s:
            continue
        added_s = longer_s + stand_s
        guess = longer_m * (empty_m + fuel_g_m * points[at].load_g) + added_s * truck.per_s
        guess += (points[at].hauled_m + to_m) * visit.mass_g * fuel_g_m
        guess += max(0.0, added_s - ordinary_s) * truck.overtime_per_s
        y.guess[found] = guess if under_way else guess + truck.fixed
        y.places[found].truck, y.places[found].stop = k, at
        y.places[found].fits = _has_room(t, r, w, k, v, at)
        found += 1
    return found


@inlined
def _has_room(t: Tables, r: Routes, w: int, k: int, v: int, at: int) -> bool:
    visit, point = t.visits[v], r.slack[w][k][at]
    if not point.rank_before <= visit.rank <= point.rank_after:
        return False
    if point.free_g + 1 < visit.mass_g or point.free_pails < visit.pails:
        return False
    for s in range(len(t.density_g_ml)):
        if t.asked[v][s].bulk_ml > 0 and r.free_ml[w][k][s][at] < t.asked[v][s].bulk_ml:
            return False
    return True
