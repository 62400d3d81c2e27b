"""Choose what runs the search: machine code where it has been made, else the same text as Python."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from routing.planning.evaluate.route_rules import LAZY
from routing.planning.evaluate.rules.scratch import Scratch, longest_route, scratch_for
from routing.planning.evaluate.rules.tables import Tables, tables_of
from routing.planning.machine_code.code_folder import code_folder, ready
from routing.planning.machine_code.lists import as_lists
from routing.planning.problem.problem import Problem
from routing.planning.search import kernel
from routing.planning.search.routes import Routes, routes_for
from routing.planning.search.trials import Trials, trials_for

Run = Callable[[Tables, Scratch, Routes, Trials, int, int, float, float], int]
Room = tuple[Tables, Scratch, Routes, Trials]

SPEED = 40.0
"""Steps of the machine code in the time that Python takes for one."""


@dataclass(frozen=True)
class Backend:
    """Runs the search: ``speed`` is steps in the time that Python takes for one; ``trouble`` is what
    failed.
    """

    run: Run
    compiled: bool
    trouble: str = ""

    @property
    def speed(self) -> float:
        """Steps in the time that Python takes for one."""
        return SPEED if self.compiled else 1.0

    def room(self, problem: Problem, stops: int = 0) -> Room:
        """The tables of a problem, and room to search it with routes of so many stops, or of as many as can
        be.
        """
        tables = tables_of(problem)
        stops = max(stops, longest_route(tables))
        room = (tables, scratch_for(tables, stops), routes_for(tables, stops), trials_for(tables, stops))
        if self.compiled:
            return room
        tables, scratch, routes, trials = room
        return as_lists(tables, LAZY), as_lists(scratch), as_lists(routes), as_lists(trials)


PYTHON = Backend(kernel.run, compiled=False)


@cache
def select() -> Backend:
    """The machine code, where it is ready and loads; Python else. Decided once in a process."""
    return _choose()


def machine_code() -> Backend:
    """The machine code, made where it is not. Raises whatever a compiler raises that does not load."""
    from routing.planning.machine_code.jit import compiled

    return Backend(compiled(kernel.run), compiled=True)


def _choose() -> Backend:
    if not ready():
        return PYTHON
    try:
        found = machine_code()
    except Exception as error:
        # An upgrade may leave a compiler that does not load: plans are made all the same.
        return Backend(
            kernel.run, False, f"the compiled search failed to load; the slower one was used ({error!r:.150})"
        )
    folder = code_folder()
    if folder is not None:
        with contextlib.suppress(OSError):
            os.utime(folder / "ready")
    return found
