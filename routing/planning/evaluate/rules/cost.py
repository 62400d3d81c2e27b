"""Price a timed route: wages, overtime, fuel by load and by climb, wear, and the price of changing a plan.

Fuel is linear in payload between empty and full (Xiao, Zhao, Kaku & Xu, "Development of a fuel consumption
optimization model for the capacitated vehicle routing problem", Computers & OR 39(7):1419, 2012).
"""

from __future__ import annotations

from routing.planning.evaluate.rules.scratch import Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Ints, Records
from routing.planning.machine_code.text import inlined, kernel

OUT = -1
"""The truck of a visit that is left out."""


@inlined
def route_cost(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> float:
    """Money of the route judged last, which is left in ``x.money`` by its parts."""
    truck, money = t.trucks[k], x.money[0]
    litres, metres = 0.0, 0
    for i in range(1, m + 2):
        point, gross_g = x.points[i], x.points[i - 1].gross_g
        metres += point.metres
        litres += leg_fuel_l(t, k, point.metres, point.climb_m, gross_g)
    if truck.idle_l_per_s:
        litres += truck.idle_l_per_s * _idle_s(t, x, stops, m)
    work_s = x.points[m + 1].begin - x.points[0].arrive
    money.overtime_s = max(0, work_s - truck.ordinary_s)
    money.fuel_l = litres
    money.labor = work_s * truck.per_s + money.overtime_s * truck.overtime_per_s
    money.fuel = litres * truck.fuel_price
    money.vehicle = metres * truck.per_m + truck.fixed
    return money.labor + money.fuel + money.vehicle


@inlined
def leg_fuel_l(t: Tables, k: int, metres: int, climb_m: int, gross_g: float) -> float:
    """Litres for one leg driven at a gross mass, with what lifts the truck."""
    truck = t.trucks[k]
    flat_l = metres * (truck.fuel_empty + truck.fuel_per_g * (gross_g - truck.tare_g))
    return flat_l + climb_m * gross_g * truck.climb_l_per_g_m


@inlined
def _idle_s(t: Tables, x: Scratch, stops: Ints, m: int) -> int:
    """Seconds the engine runs at a stand to drive the pump: loading and pouring, not waits or washing."""
    seconds = 0
    for i in range(m + 1):
        point = x.points[i]
        if i and stops[i - 1] >= 0:
            if t.visits[stops[i - 1]].pumped:
                seconds += point.service_s
        elif _pumps(t, x, i):
            seconds += point.service_s - (t.day[0].wash_s if point.washes else 0)
    return seconds


@inlined
def _pumps(t: Tables, x: Scratch, i: int) -> bool:
    pumped = 0
    for s in range(len(t.density_g_ml)):
        pumped += x.calls[i][s].taken_ml
    return pumped > 0


@inlined
def change_cost(t: Tables, k: int, stops: Ints, m: int) -> float:
    """What the route is worse for being unlike what the drivers were told."""
    day, before, total = t.day[0], -1, 0.0
    if m and t.trucks[k].heading and (stops[0] < 0 or not t.crews[k][stops[0]].heading):
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
def busy_s(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Work without waits, spare loading, and breaks that another stop might put off.

    More stops only add to it.
    """
    truck, margin = t.trucks[k], t.day[0].margin
    busy, calls_s = 0, 0
    for i in range(m + 2):
        busy += x.points[i].drive_s + x.points[i].service_s
        if i == 0 or (i <= m and stops[i - 1] < 0):
            calls_s += x.points[i].service_s
    if margin:
        busy -= int(calls_s * margin / (1 + margin)) + 1
    if truck.break_s and not truck.break_on_driving:
        breaks = -(-(busy + truck.since_break_s) // truck.break_after_s) - 1
        busy += max(0, breaks) * truck.break_s
    return max(0, busy)


@kernel
def day_price(t: Tables, trucks: Records, truck_of: Ints, penalty: float) -> float:
    """Cost of all routes, value of what is left out, a penalty for what must be fed, and the price of
    unequal shifts.

    ``trucks[k]`` has the ``cost`` and ``work_s`` of each route, ``truck_of[v]`` the truck of each visit.
    """
    day, total = t.day[0], 0.0
    longest, shortest, used = 0, 10**15, 0
    for k in range(len(t.trucks)):
        work_s = trucks[k].work_s
        if work_s:
            total += trucks[k].cost
            longest, shortest, used = max(longest, work_s), min(shortest, work_s), used + 1
    for v in range(len(t.visits)):
        if truck_of[v] == OUT:
            total += t.visits[v].value + penalty * t.visits[v].required
    if day.balance_per_s and used > 1:
        total += day.balance_per_s * (longest - shortest)
    return total
