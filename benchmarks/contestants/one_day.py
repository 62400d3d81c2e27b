"""Plan one feeding day with one contestant on one core, in a process of its own, by its processor time."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from benchmarks.common.measure import Run
from benchmarks.contestants import engine_alone, handover, ortools_routing
from benchmarks.contestants.apart import spent_s
from benchmarks.contestants.planner_direct import by_processor_time
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Problem
from routing.planning.run.worker import Found, Job, work
from routing.planning.search.search import adopt
from tests.support.invented.days import Problems, demo_day, invented_day

ROOT = Path(__file__).parents[2]
PLANNER, ENGINE, LIBRARY = "planner", "PyVRP alone", "OR-Tools routing"
THEN_SEARCH = "OR-Tools, then exact search"
DEMO = "demo"


@dataclass(frozen=True)
class Asked:
    """A day (``demo``, or yards and number: ``36-1``) for a contestant.

    ``worker`` is the planner's number of a worker, ``variant`` the choice of syrups in the tanks that the
    others are given (the planner chooses by itself).
    """

    day: str
    contestant: str
    seconds: float
    seed: int
    worker: int = 0
    variant: int = 0


@dataclass(frozen=True)
class Answered:
    """A run, and which choice of syrups its plan is for."""

    run: Run
    variant: int


def ask(asked: Asked, env: Mapping[str, str] | None = None) -> Answered:
    """Have a day planned by a process of its own; one that dies has no plan."""
    words = [sys.executable, "-m", "benchmarks.contestants.one_day", json.dumps(asdict(asked))]
    done = subprocess.run(words, capture_output=True, cwd=ROOT, text=True, env=env)
    if done.returncode:
        last = done.stderr.strip().splitlines()[-1:] or [f"exit {done.returncode}"]
        nothing = Run(
            asked.day, asked.contestant, asked.seed, float("inf"), -1, 0.0, (), (f"died: {last[0]}",)
        )
        return Answered(nothing, asked.variant)
    told = json.loads(done.stdout.splitlines()[-1])
    run = told["run"]
    run |= {"trace": tuple((at, price) for at, price in run["trace"]), "troubles": tuple(run["troubles"])}
    return Answered(Run(**run), told["variant"])


def answer(asked: Asked) -> Answered:
    """Plan the day here."""
    by_processor_time()
    problems = problems_of(asked.day)
    began, trace = spent_s(), []

    def told(found: Found) -> None:
        if not trace or found.price < trace[-1][1]:
            trace.append((spent_s() - began, found.price))

    if asked.contestant == PLANNER:
        found = work(Job(problems, asked.seed + 1000 * asked.worker, asked.seconds, None, asked.worker), told)
        seconds, variant = spent_s() - began, found.variant
        state: State | None = adopt(Judge(problems[variant]), found.solution.routes)
        troubles = (found.trouble,) if found.trouble else ()
    else:
        state = _others()[asked.contestant](problems[asked.variant], asked.seconds, asked.seed)
        seconds, variant, troubles = spent_s() - began, asked.variant, ()
    price, left = (state.price, len(state.unserved)) if state else (float("inf"), -1)
    run = Run(asked.day, asked.contestant, asked.seed, price, left, seconds, tuple(trace), troubles)
    return Answered(run, variant)


def _others() -> dict[str, Callable[[Problem, float, int], State | None]]:
    return {
        ENGINE: lambda p, s, seed: engine_alone.plan(p, s, seed, time.process_time),
        LIBRARY: lambda p, s, _: ortools_routing.plan(p, s),
        THEN_SEARCH: handover.library_then_search,
    }


def problems_of(day: str) -> Problems:
    """The problems of a day by its name."""
    if day == DEMO:
        return demo_day()
    yards, _, number = day.partition("-")
    return invented_day(int(number), int(yards))


if __name__ == "__main__":
    print(json.dumps(asdict(answer(Asked(**json.loads(sys.argv[1]))))))
