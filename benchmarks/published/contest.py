"""Let each contestant solve the same published instance in the same time, each judged alike."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from benchmarks.contestants.apart import Task, ask, version_of
from tests.support.instances.check import Verdict, check
from tests.support.instances.instance import Instance
from tests.support.instances.run import Solved

VARIABLE = "FEEDROUND_PYVRP_PYTHON"
"""Names the interpreter of an environment with another PyVRP."""
KINDS = ("planner", "pyvrp", "ortools")
NOTHING = Verdict(float("inf"), ("no plan",))


@dataclass(frozen=True)
class Contestant:
    """Who solves: ``python`` is the interpreter of another environment (PyVRP only).

    ``workers`` are processes of the planner, one a core; the others have one thread.
    """

    kind: str
    python: str | None = None
    workers: int = 1

    @property
    def interpreter(self) -> str | None:
        """The interpreter it runs in: the one given, else that of the environment variable, else ours."""
        return (self.python or os.environ.get(VARIABLE)) if self.kind == "pyvrp" else None

    @property
    def name(self) -> str:
        """Name with version."""
        if self.kind == "planner":
            return "planner" if self.workers == 1 else f"planner, {self.workers} cores"
        package, shown = ("pyvrp", "PyVRP") if self.kind == "pyvrp" else ("ortools", "OR-Tools routing")
        return f"{shown} {version_of(package, self.interpreter) or 'not installed'}"

    @property
    def seeded(self) -> bool:
        """Whether it takes a seed; OR-Tools' routing library takes none."""
        return self.kind != "ortools"


def contest(
    contestant: Contestant,
    instance: Instance,
    file: Path | None,
    rounding: str,
    seconds: float,
    seed: int,
) -> Solved:
    """One contestant's routes on an instance, judged on the instance's own terms.

    Seconds are of the contestant's own processor time, on each core that it has.
    """
    path = None if file is None else str(file.resolve())
    task = Task(instance, path, rounding, seconds, seed, contestant.workers)
    answer = ask(f"benchmarks.contestants.{contestant.kind}_direct", task, contestant.interpreter)
    troubles = (f"{contestant.name} {answer.trouble}",) if answer.trouble else ()
    if answer.routes is None:
        return Solved(instance, (), NOTHING, answer.seconds, troubles, answer.clock_s)
    verdict = check(instance, answer.routes)
    return Solved(instance, answer.routes, verdict, answer.seconds, troubles, answer.clock_s)
