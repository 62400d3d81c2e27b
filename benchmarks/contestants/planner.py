"""Plan a day with the planner itself, as the command line does."""

from __future__ import annotations

import time
from collections.abc import Sequence

from benchmarks.measure import Run
from routing.planning.problem import Problem
from routing.planning.search import adopt
from routing.planning.solve import Outcome, Progress, SolveOptions, solve
from routing.planning.state import Judge, State


def plan(
    day: str, problems: Sequence[Problem], seconds: float, seed: int, workers: int
) -> tuple[Run, Outcome]:
    """One plan, with the course of its price and what went wrong."""
    told: list[tuple[float, float]] = []

    def note(progress: Progress) -> None:
        told.append((progress.elapsed_s, progress.objective))

    began = time.monotonic()
    outcome = solve(problems, SolveOptions(seconds, None, seed, workers), note)
    spent = time.monotonic() - began
    state = state_of(problems[outcome.variant], outcome)
    name = f"planner, {workers} core{'s' if workers > 1 else ''}"
    found = Run(day, name, seed, state.price, len(state.unserved), spent, tuple(told), outcome.troubles)
    return found, outcome


def state_of(problem: Problem, outcome: Outcome) -> State:
    """The outcome as a state, so that its price is reckoned like everybody's."""
    return adopt(Judge(problem), outcome.solution.routes)
