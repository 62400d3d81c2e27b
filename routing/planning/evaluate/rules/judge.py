"""Judge one route under every rule: the first it breaks, or what it costs."""

from __future__ import annotations

from routing.planning.evaluate.rules.clock import drive, run
from routing.planning.evaluate.rules.cost import busy_s, change_cost, route_cost
from routing.planning.evaluate.rules.loads import lay_out
from routing.planning.evaluate.rules.scratch import DRIVING, INFEASIBLE, LAWFUL, SHIFT, Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Ints
from routing.planning.machine_code.text import inlined, kernel

Judgement = tuple[float, int, int, int]
"""Cost (infinite where a rule is broken), fault, seconds of work, seconds that more stops can only add to."""


@kernel
def judge(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> Judgement:
    """Judge the first ``m`` stops as a route of truck ``k``; leaves what it draws in ``x.drawn_ml``."""
    if m == 0 and not t.trucks[k].on_the_clock:
        return 0.0, LAWFUL, 0, 0
    fault = time(t, x, k, stops, m)
    if fault != LAWFUL:
        # A truck that has to come home all the same: no plan can do it within the rules.
        return (0.0, LAWFUL, 0, 0) if m == 0 else (INFEASIBLE, fault, 0, 0)
    if t.day[0].limited:
        _draw(t, x, k, stops, m)
    cost = route_cost(t, x, k, stops, m)
    if t.day[0].told:
        cost += change_cost(t, k, stops, m)
    return cost, LAWFUL, x.points[m + 1].begin - x.points[0].arrive, busy_s(t, x, k, stops, m)


@inlined
def time(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Time a route with its loads, and return the fault. Hours come first, at the least they can be."""
    truck = t.trucks[k]
    driven = drive(t, x, k, stops, m)
    least = driven
    for i in range(m):
        if stops[i] >= 0:
            least += t.crews[k][stops[i]].service_s
    if least > min(truck.max_s, truck.latest_s - truck.earliest_s):
        return SHIFT
    fault = lay_out(t, x, k, stops, m)
    if fault != LAWFUL:
        return fault
    if driven > truck.driving_s:
        return DRIVING
    return run(t, x, k, stops, m)


@inlined
def depot_at(t: Tables, k: int, stops: Ints, i: int) -> int:
    """The depot called at by point i of a route, or -1 where it is a visit."""
    if i == 0:
        return t.trucks[k].start
    return -1 - stops[i - 1] if stops[i - 1] < 0 else -1


@inlined
def _draw(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> None:
    """Sum up what is taken at each depot of the route."""
    kinds = len(t.density_g_ml)
    for i in range(m + 1):
        depot = depot_at(t, k, stops, i)
        if depot >= 0:
            for s in range(kinds):
                x.drawn_ml[depot][s] = 0
    for i in range(m + 1):
        depot = depot_at(t, k, stops, i)
        if depot >= 0:
            for s in range(kinds):
                x.drawn_ml[depot][s] += x.calls[i][s].taken_ml + x.calls[i][s].pail_ml
