"""The one door into the search, as machine code or as Python: all of it is compiled at once, and once."""

from __future__ import annotations

from routing.planning.evaluate.rules.judge import judge
from routing.planning.evaluate.rules.scratch import Scratch
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.text import kernel
from routing.planning.search.anneal import anneal, begin, settle
from routing.planning.search.chance import sow
from routing.planning.search.insertion import insert_all
from routing.planning.search.order import copy
from routing.planning.search.routes import HERE, TRIAL, Routes, price_of, price_route, put
from routing.planning.search.ruin import tidy
from routing.planning.search.trials import Trials

SEED = 0
BEGIN = 1
FILL = 2
FILL_BY_CHANCE = 3
ANNEAL = 4
SETTLE = 5
JUDGE = 6
TIDY = 7
PUT = 8


@kernel
def run(
    t: Tables, x: Scratch, r: Routes, y: Trials, task: int, count: int, heat: float, cooling: float
) -> int:
    """Do a task; its answer, 0 where it has none.

    SEED chance by a number. BEGIN with the trial's routes: the first truck whose route is not lawful, or
    -1. FILL the routes with the first visits of ``y.order``. ANNEAL so many steps: 1 where a better plan
    was found. SETTLE the best routes. JUDGE the trial's route of a truck: its fault. TIDY it: its fault.
    PUT it.
    """
    if task == SEED:
        sow(y.chance, count)
    elif task == BEGIN:
        return begin(t, x, r, y)
    elif task in (FILL, FILL_BY_CHANCE):
        insert_all(t, x, r, y, HERE, count, task == FILL_BY_CHANCE)
        r.price[HERE] = price_of(t, r, HERE)
    elif task == ANNEAL:
        return 1 if anneal(t, x, r, y, count, heat, cooling) else 0
    elif task == SETTLE:
        settle(t, x, r, y)
    elif task == JUDGE:
        truck = r.trucks[TRIAL][count]
        cost, fault, work_s, busy = judge(t, x, count, r.stops[TRIAL][count], truck.length)
        truck.cost, truck.work_s, truck.busy_s = cost, work_s, busy
        return fault
    elif task == TIDY:
        return _tidy(t, x, r, y, count)
    elif task == PUT:
        _put(t, x, r, count)
    return 0


@kernel
def _tidy(t: Tables, x: Scratch, r: Routes, y: Trials, k: int) -> int:
    """Tidy the trial's route of a truck among the routes where the search stands; its fault."""
    truck = r.trucks[TRIAL][k]
    copy(r.stops[TRIAL][k], 0, y.route, 0, truck.length)
    known = price_route(t, x, r, HERE, k, y.route, truck.length)
    truck.length, known = tidy(t, x, r, y, HERE, k, truck.length, known)
    copy(y.route, 0, r.stops[TRIAL][k], 0, truck.length)
    return known[1]


@kernel
def _put(t: Tables, x: Scratch, r: Routes, k: int) -> None:
    stops, m = r.stops[TRIAL][k], r.trucks[TRIAL][k].length
    put(t, x, r, HERE, k, stops, m, price_route(t, x, r, HERE, k, stops, m))
