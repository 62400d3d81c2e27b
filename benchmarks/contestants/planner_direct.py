"""Solve a published instance with the planner, by processor time: what one worker, or several, would find.

Workers of the planner tell each other nothing, so that several, one a core, are measured one after the other.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

from benchmarks.contestants.apart import search, taken
from benchmarks.published.instance import Route
from benchmarks.published.to_problem import to_problem
from routing.planning import budget
from routing.planning.worker import Job, work


def by_processor_time() -> None:
    """Let this process' planner count its own processor time instead of the clock.

    Its start from OR-Tools' library goes by the clock nevertheless: on a busy machine that is less.
    """
    spent: Any = SimpleNamespace(perf_counter=time.process_time)
    budget.time = spent


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
