"""Choose who takes the steps of the exact search: machine code where it has been made, else plain Python."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from functools import cache
from typing import Protocol, cast

from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Solution, Stops
from routing.planning.search.budget import Phase


class Steps(Protocol):
    """What both can do: ``planning.search`` tells what each means."""

    SPEED: float
    """Steps in the time that the plain code takes for one."""

    troubles: list[str]
    """What went wrong on the way."""

    def adopt(self, judge: Judge, routes: tuple[Stops, ...]) -> State:
        """Take over routes that may break exact rules."""

    def afresh(self, judge: Judge, seed: int) -> State:
        """A day built by insertion in a chance order."""

    def improve(
        self, state: State, seed: int, progress: Phase, on_best: Callable[[Solution, float], None]
    ) -> State:
        """Anneal until the phase is over."""


@cache
def fastest() -> Steps:
    """The machine code, where it is ready and loads; the plain code else. Decided once in a process."""
    return _choose()


def _choose() -> Steps:
    from routing.planning.machine_code.code_folder import code_folder, ready
    from routing.planning.search import search as plain

    if not ready():
        return cast(Steps, plain)
    try:
        from routing.planning.compiled import search as compiled
    except Exception as error:
        # An upgrade may leave a compiler that does not load: plans are made all the same.
        plain.troubles.append(f"the fast search did not load, the slow one was used ({error!r:.150})")
        return cast(Steps, plain)
    folder = code_folder()
    if folder is not None:
        with contextlib.suppress(OSError):
            os.utime(folder / "ready")
    return cast(Steps, compiled)
