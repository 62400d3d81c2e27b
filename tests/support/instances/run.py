"""Solve a published instance with the planner and judge what it found on the instance's own terms."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

from routing.planning.run.solve import SolveOptions, solve
from routing.planning.run.worker import Job, work
from tests.support.instances.best_known import KNOWN
from tests.support.instances.check import Verdict, check
from tests.support.instances.instance import Instance
from tests.support.instances.solver_easy import data_folder, read_packaged
from tests.support.instances.to_problem import to_problem
from tests.support.instances.vrplib_files import read_solution, read_vrplib


@dataclass(frozen=True)
class Solved:
    """What was found on an instance: cost in the units of the paper, and how long it took.

    ``clock_s`` is the time by the clock, where ``seconds`` are of the processor.
    """

    instance: Instance
    routes: tuple[tuple[int, ...], ...]
    verdict: Verdict
    seconds: float
    troubles: tuple[str, ...] = ()
    clock_s: float = 0.0

    @property
    def cost(self) -> float:
        """Cost in the units of the paper."""
        return self.instance.units(self.verdict.cost)


def run(instance: Instance, options: SolveOptions) -> Solved:
    """Solve in worker processes, by the clock or by iterations."""
    began = time.monotonic()
    outcome = solve([to_problem(instance)], options)
    seconds = time.monotonic() - began
    routes = outcome.solution.routes
    return Solved(instance, routes, check(instance, routes), seconds, outcome.troubles)


def run_here(instance: Instance, iterations: int, seed: int = 1) -> Solved:
    """Solve in this process by iterations alone: the same every time."""
    began = time.monotonic()
    found = work(Job((to_problem(instance),), seed, None, iterations), lambda _: None)
    routes = found.solution.routes
    return Solved(instance, routes, check(instance, routes), time.monotonic() - began)


def read(path: Path, rounding: str) -> Instance:
    """Read any file that a reader here knows."""
    packaged = data_folder()
    if packaged is not None and packaged in path.resolve().parents:
        return read_packaged(path, rounding)
    return read_vrplib(path, rounding)


def best_known(path: Path, instance: Instance) -> float | None:
    """The best value known, in the units of the paper.

    From the ``.sol`` file beside the instance, recomputed under the same rounding; else from the table.
    """
    beside = path.with_suffix(".sol")
    if beside.exists() and beside != path:
        verdict = check(instance, read_solution(beside, instance))
        if verdict.feasible:
            return instance.units(verdict.cost)
    known = KNOWN.get(path.stem)
    return None if known is None else known.value
