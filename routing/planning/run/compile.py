"""Compile the search and the lower bound once, on a day of one visit, and note that they are ready.

Started by ``machine_code.make``, which reads the share that is done from standard output.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import time
from math import inf
from pathlib import Path

import numpy as np

from routing.planning.machine_code.code_folder import code_folder
from routing.planning.machine_code.make import CAREFULLY, end_with_parent
from routing.planning.machine_code.one_module import emit_entries_alone
from routing.planning.machine_code.progress import tell_share
from routing.planning.problem.problem import DepotSpec, Problem, Supply, TruckSpec, Visit
from routing.planning.search.budget import Budget

STEPS = 100
UNUSED_S = 30 * 86_400
"""Code of other installations and of older sources is left alone so long after it was used last."""


def main() -> None:
    """Make the code, and remove what nobody uses."""
    end_with_parent()
    # Code that others may write to is not trusted later.
    os.umask(0o077)
    if CAREFULLY not in sys.argv:
        emit_entries_alone()
    tell_share(lambda share: print(share, flush=True))
    _compile()
    folder = code_folder()
    if folder is None:
        return
    made = sorted(str(file.relative_to(folder)) for file in folder.rglob("*.nb?"))
    (folder / "ready").write_text("\n".join(made), encoding="utf-8")
    _remove_unused(folder.parent)


def _compile() -> None:
    """Call each entry on the smallest day."""
    from routing.planning.bound.lower_bound import lower_bound
    from routing.planning.evaluate.state import Judge
    from routing.planning.search.backend import machine_code
    from routing.planning.search.search import Search

    table = np.array([[0, 1], [1, 0]], np.int64)
    problem = Problem(
        (Visit(1, (1,), 100.0),),
        (DepotSpec(0, (Supply(1.0),)),),
        (TruckSpec(0, 0, (1,), (0,), earliest_s=0, latest_s=100, ordinary_s=100),),
        (table,),
        (table,),
        (1.0,),
    )
    Search(Judge(problem), machine_code()).begin(((),))
    lower_bound(problem, inf, Budget(None, STEPS).phase(1.0), lambda _bound: None)


def _remove_unused(home: Path) -> None:
    """Remove code that no plan has used for weeks."""
    for folder in home.glob("search-*"):
        with contextlib.suppress(OSError):
            if time.time() - (folder / "ready").stat().st_mtime > UNUSED_S:
                shutil.rmtree(folder, ignore_errors=True)
                folder.with_suffix(".lock").unlink(missing_ok=True)
