"""Solve a published instance with OR-Tools' routing library, stated on the planner's own problem.

What the library cannot state (a trip that may not leave before its goods are there) is put right afterwards
as for everybody: what offends is dropped, what fits is put back.
"""

from __future__ import annotations

from collections.abc import Sequence

from benchmarks.contestants import ortools_routing
from benchmarks.contestants.apart import search, taken
from tests.support.instances.instance import Route
from tests.support.instances.to_problem import to_problem


def main() -> None:
    """Solve the task on standard input."""
    task = taken()
    problem = to_problem(task.instance)

    def work() -> Sequence[Route] | None:
        state = ortools_routing.plan(problem, task.seconds)
        return None if state is None else state.routes

    search(task, work)


if __name__ == "__main__":
    main()
