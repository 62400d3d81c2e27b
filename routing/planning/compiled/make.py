"""Compile the search and the lower bound once, on a day of one visit, and note that they are ready."""

from __future__ import annotations

import shutil
from math import inf

import numpy as np

from routing.planning.bound import lower_bound
from routing.planning.budget import Budget
from routing.planning.compiled.code_folder import code_folder
from routing.planning.compiled.search import adopt, improve
from routing.planning.problem import DepotSpec, Problem, Supply, TruckSpec, Visit
from routing.planning.state import Judge

STEPS = 100
KEPT = 8
"""Folders of other installations, and of older sources, that are left alone."""


def main() -> None:
    """Make the code, and remove the oldest of what others left."""
    folder = code_folder()
    table = np.array([[0, 1], [1, 0]], np.int64)
    problem = Problem(
        (Visit(1, (1,), 100.0),),
        (DepotSpec(0, (Supply(1.0),)),),
        (TruckSpec(0, 0, (1,), (0,), earliest_s=0, latest_s=100, ordinary_s=100),),
        (table,),
        (table,),
        (1.0,),
    )
    judge = Judge(problem)
    improve(adopt(judge, ((),)), 1, Budget(None, 1).phase(1.0), lambda _solution, _price: None)
    lower_bound(problem, inf, Budget(None, STEPS).phase(1.0), lambda _bound: None)
    if folder is None:
        return
    (folder / "ready").touch()
    made = sorted(folder.parent.glob("search-*"), key=lambda path: path.stat().st_mtime)
    for older in made[:-KEPT]:
        shutil.rmtree(older, ignore_errors=True)
