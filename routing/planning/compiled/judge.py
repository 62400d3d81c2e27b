"""Time and price one route under every rule: what ``planning.state.Judge`` says of it."""

from __future__ import annotations

from routing.planning.compiled.clock import drive, run
from routing.planning.compiled.loads import lay_out
from routing.planning.compiled.scratch import INFEASIBLE, LAWFUL, OTHER, Scratch
from routing.planning.compiled.tables import Ints, Tables
from routing.planning.machine_code.jit import inlined, jit

Judged = tuple[float, int, int, int]
"""Cost (infinite where a rule is broken), fault, seconds of work, seconds that more stops can only add to."""


@jit
def judge(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> Judged:
    """Judge the first ``m`` stops as a route of truck ``k``; leaves what it draws in ``x.drawn_ml``."""
    x.drawn_ml[:] = 0
    if m == 0 and not t.trucks[k].on_the_clock:
        return 0.0, LAWFUL, 0, 0
    fault = _time(t, x, k, stops, m)
    if fault != LAWFUL:
        # A truck that has to come home all the same: no plan can do it within the rules.
        return (0.0, LAWFUL, 0, 0) if m == 0 else (INFEASIBLE, fault, 0, 0)
    if t.day[0].limited:
        _draw(t, x, k, stops, m)
    work_s = x.points[m + 1].begin - x.points[0].arrive
    cost = _money(t, x, k, stops, m, work_s)
    if t.day[0].habit:
        cost += _habit(t, k, stops, m)
    return cost, LAWFUL, work_s, _busy_s(t, x, k, stops, m)


@inlined
def _time(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Time a route; the hours are looked at first, at the least they can be."""
    truck = t.trucks[k]
    driven = drive(t, x, k, stops, m)
    least = driven
    for i in range(m):
        if stops[i] >= 0:
            least += t.crews[k, stops[i]].service_s
    if least > min(truck.max_s, truck.latest_s - truck.earliest_s):
        return OTHER
    fault = lay_out(t, x, k, stops, m)
    if fault != LAWFUL:
        return fault
    if driven > truck.driving_s:
        return OTHER
    return run(t, x, k, stops, m)


@inlined
def _money(t: Tables, x: Scratch, k: int, stops: Ints, m: int, work_s: int) -> float:
    truck = t.trucks[k]
    litres, metres, idle_s = 0.0, 0, 0
    for i in range(1, m + 2):
        gross = x.points[i - 1].gross_g
        metres += x.points[i].metres
        litres += x.points[i].metres * (truck.fuel_empty + truck.fuel_per_g * (gross - truck.tare_g))
        if truck.climb_l_per_g_m:
            climb = t.legs[truck.matrix, x.points[i - 1].place, x.points[i].place].climb_m
            litres += climb * gross * truck.climb_l_per_g_m
    if truck.idle_l_per_s:
        for i in range(m + 1):
            if i and stops[i - 1] >= 0:
                if t.visits[stops[i - 1]].pumped:
                    idle_s += x.points[i].service_s
            elif _pumps(t, x, i):
                idle_s += x.points[i].service_s - (t.day[0].wash_s if x.points[i].washes else 0)
        litres += truck.idle_l_per_s * idle_s
    overtime = max(0, work_s - truck.ordinary_s)
    wages = work_s * truck.per_s + overtime * truck.overtime_per_s
    return wages + litres * truck.fuel_price + metres * truck.per_m + truck.fixed


@inlined
def _pumps(t: Tables, x: Scratch, i: int) -> bool:
    pumped = 0
    for s in range(t.density_g_ml.size):
        pumped += x.calls[i, s].taken_ml
    return pumped > 0


@inlined
def _habit(t: Tables, k: int, stops: Ints, m: int) -> float:
    """What the route is worse for being unlike what the drivers were told."""
    day, before, total = t.day[0], -1, 0.0
    if m and t.trucks[k].heading and (stops[0] < 0 or not t.crews[k, stops[0]].heading):
        total += day.turned
    for i in range(m):
        stop = stops[i]
        if stop < 0:
            continue
        visit = t.visits[stop]
        if visit.told_truck >= 0:
            total += day.moved * (visit.told_truck != k) + day.reordered * (visit.told_before != before)
        before = stop
    return total


@inlined
def _busy_s(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    truck, margin = t.trucks[k], t.day[0].margin
    busy, calls_s = 0, 0
    for i in range(m + 2):
        busy += x.points[i].drive_s + x.points[i].service_s
        if i == 0 or (i <= m and stops[i - 1] < 0):
            calls_s += x.points[i].service_s
    if margin:
        busy -= int(calls_s * margin / (1 + margin)) + 1
    if truck.break_s and not truck.break_on_driving:
        breaks = -(-(busy + truck.tired_s) // truck.break_after_s) - 1
        busy += max(0, breaks) * truck.break_s
    return max(0, busy)


@inlined
def _draw(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> None:
    for i in range(m + 1):
        if i and stops[i - 1] >= 0:
            continue
        depot = -1 - stops[i - 1] if i else t.trucks[k].start
        for s in range(t.density_g_ml.size):
            x.drawn_ml[depot, s] += x.calls[i, s].taken_ml + x.calls[i, s].pail_ml
