"""Choose who takes the steps of the exact search: machine code where it has been made, else plain Python."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, cast

from routing.planning.budget import Phase
from routing.planning.problem import Solution, Stops
from routing.planning.state import Judge, State


class Steps(Protocol):
    """What both can do: ``planning.search`` tells what each means."""

    SPEED: float
    """Steps in the time that the plain code takes for one."""

    def adopt(self, judge: Judge, routes: tuple[Stops, ...]) -> State:
        """Take over routes that may break exact rules."""

    def afresh(self, judge: Judge, seed: int) -> State:
        """A day built by insertion in a chance order."""

    def improve(
        self, state: State, seed: int, progress: Phase, on_best: Callable[[Solution, float], None]
    ) -> State:
        """Anneal until the phase is over."""


def fastest() -> Steps:
    """The machine code, where it is ready; the plain code else."""
    from routing.planning.compiled.code_folder import ready

    if ready():
        from routing.planning.compiled import search as compiled

        return cast(Steps, compiled)
    from routing.planning import search as plain

    return cast(Steps, plain)
