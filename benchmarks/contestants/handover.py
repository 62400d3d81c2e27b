"""Carry a plan on, by OR-Tools' routing library or by the exact search: same start, same processor time."""

from __future__ import annotations

from benchmarks.contestants import ortools_routing
from benchmarks.contestants.planner_direct import by_processor_time
from routing.planning.evaluate.state import State
from routing.planning.problem.problem import Problem
from routing.planning.search.budget import Budget
from routing.planning.search.search import improve


def by_search(start: State, seconds: float, seed: int) -> State:
    """The exact search from a start."""
    by_processor_time()
    phase = Budget(seconds, None).phase(1.0)
    return improve(start.copy(), seed, phase, lambda _solution, _price: None)


def by_library(start: State, seconds: float) -> State:
    """OR-Tools' routing library from a start; the start itself where it does no better."""
    found = ortools_routing.plan(start.problem, seconds, tuple(start.routes))
    return start if found is None or found.price > start.price else found


def library_then_search(problem: Problem, seconds: float, seed: int, share: float = 0.4) -> State | None:
    """OR-Tools' routing library first, the exact search after it."""
    found = ortools_routing.plan(problem, seconds * share)
    return None if found is None else by_search(found, seconds * (1 - share), seed)
