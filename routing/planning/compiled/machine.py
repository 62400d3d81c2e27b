"""The one door from Python into the machine code: all of it is compiled at once, and once."""

from __future__ import annotations

import numpy as np

from routing.planning.compiled.anneal import anneal, begin
from routing.planning.compiled.insertion import insert_all
from routing.planning.compiled.judge import judge
from routing.planning.compiled.routes import HERE, TRIAL, Routes
from routing.planning.compiled.scratch import Scratch
from routing.planning.compiled.tables import Tables
from routing.planning.machine_code.jit import entry

SEED = 0
BEGIN = 1
BEGIN_STILL = 2
FILL = 3
FILL_BY_CHANCE = 4
ANNEAL = 5
JUDGE = 6


@entry
def run(t: Tables, x: Scratch, r: Routes, task: int, count: int, heat: float, cooling: float) -> int:
    """Do a task; its answer, 0 where it has none.

    SEED chance by a number. BEGIN with the trial's routes, their refills moved or still: the first truck
    whose route is not lawful, or -1. FILL the routes with the first visits of ``x.order``. ANNEAL so many
    steps: 1 where a better plan was found. JUDGE the trial's route of a truck: its fault.
    """
    if task == SEED:
        np.random.seed(count)
    elif task in (BEGIN, BEGIN_STILL):
        return begin(t, x, r, task == BEGIN_STILL)
    elif task in (FILL, FILL_BY_CHANCE):
        insert_all(t, x, r, HERE, count, task == FILL_BY_CHANCE)
    elif task == ANNEAL:
        return 1 if anneal(t, x, r, count, heat, cooling) else 0
    elif task == JUDGE:
        truck = r.trucks[TRIAL, count]
        cost, fault, work_s, busy_s = judge(t, x, count, r.stops[TRIAL, count], truck.length)
        truck.cost, truck.work_s, truck.busy_s = cost, work_s, busy_s
        return fault
    return 0
