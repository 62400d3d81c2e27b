"""Solve a published instance with the planner, by processor time: what one worker, or several, would find.

Workers of the planner tell each other nothing, so that several, one a core, are measured one after the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

from benchmarks.contestants import ortools_routing
from benchmarks.contestants.apart import search, spent_s, taken
from routing.planning.engines import ortools_routing as refine
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Stops
from routing.planning.run.worker import Job, work
from routing.planning.search import budget
from tests.support.instances.instance import Route
from tests.support.instances.to_problem import to_problem


def by_processor_time() -> None:
    """Let this process' planner, and the library that it starts from, count processor time, not the clock."""
    spent: Any = SimpleNamespace(perf_counter=spent_s)
    budget.time = spent
    refine.library_plans = _library_plans


def _library_plans(
    judge: Judge, limit: refine.Limit, start: Sequence[Stops] | None = None, kept: int = refine.KEPT
) -> list[State]:
    """As ``refine.library_plans``, where there is a limit by seconds."""
    if limit.seconds is None:
        return refine.exact_plans(judge, refine.library_routes(judge.problem, limit, start), kept)
    given = None if start is None else tuple(start)
    return refine.exact_plans(judge, ortools_routing.improvements(judge.problem, limit.seconds, given), kept)


def main() -> None:
    """Solve the task on standard input, with the seeds and the anneals that ``solve`` gives its workers."""
    task = taken()
    problem = to_problem(task.instance)
    by_processor_time()

    def each() -> Sequence[Route]:
        jobs = [
            Job((problem,), task.seed + 1000 * number, task.seconds, None, number)
            for number in range(task.workers)
        ]
        found = [work(job, lambda _: None) for job in jobs]
        return min(found, key=lambda f: round(f.price, 6)).solution.routes

    search(task, each)


if __name__ == "__main__":
    main()
