"""Plan feeding days with every contestant at equal time, beside the best plan that a long search finds."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from benchmarks.contestants import engine_alone, handover, ortools_routing, planner
from benchmarks.feeding.best_found import DEMO, best_found
from benchmarks.feeding.days import Problems, demo_day, invented_day
from benchmarks.measure import Run, gap, mean, run_of
from routing.planning.problem import Problem
from routing.planning.state import State

Say = Callable[[str], None]


@dataclass(frozen=True)
class DayRuns:
    """All runs of one day, and the cheapest plan that any of them or a long search found."""

    day: str
    visits: int
    trucks: int
    seconds: float
    long_seconds: float
    best: float
    runs: tuple[Run, ...]

    def gaps(self, contestant: str) -> list[float]:
        """Per cent above the best, run by run."""
        return [gap(run.price, self.best) for run in self.runs if run.contestant == contestant]

    @property
    def contestants(self) -> list[str]:
        """The names, in the order they ran."""
        return list(dict.fromkeys(run.contestant for run in self.runs))


def demo_runs(seconds: float, seeds: int, long_seconds: float, say: Say) -> DayRuns:
    """The demo's 36 yards: five seeds of the planner against the best plan of a long search."""
    problems = demo_day()
    kept = [state for p in problems if (state := best_found(p, DEMO)) is not None]
    day = _runs("demo", problems, seconds, seeds, long_seconds, say)
    if not kept:
        say("the plan kept of the demo's day breaks a rule of today: it does not count")
        return day
    state = min(kept, key=lambda s: s.price)
    run = Run("demo", KEPT, 0, state.price, len(state.unserved), 0.0)
    return replace(day, best=min(day.best, run.price), runs=(*day.runs, run))


def invented_runs(
    sizes: Sequence[tuple[int, int]], seconds: float, seeds: int, long_seconds: float, say: Say
) -> list[DayRuns]:
    """Invented days by (yards, seed of the operation)."""
    return [
        _runs(f"{yards} yards, no. {number}", invented_day(number, yards), seconds, seeds, long_seconds, say)
        for yards, number in sizes
    ]


def _runs(day: str, problems: Problems, seconds: float, seeds: int, long_seconds: float, say: Say) -> DayRuns:
    say(f"{day}: best plan of a search of {long_seconds:g} s")
    longest, outcome = planner.plan(day, problems, long_seconds, 1, 2)
    problem = problems[outcome.variant]
    found = []
    for seed in range(1, seeds + 1):
        for workers in (2, 1):
            found.append(planner.plan(day, problems, seconds, seed, workers)[0])
            say(_line(found[-1]))
        found.append(_timed(day, "PyVRP alone", seed, problem, lambda p, n: engine_alone.plan(p, seconds, n)))
        say(_line(found[-1]))
    # The library has no seed: a second run differs by the clock alone.
    for turn in range(1, min(seeds, 2) + 1):
        found.append(
            _timed(day, "OR-Tools routing", turn, problem, lambda p, _: ortools_routing.plan(p, seconds))
        )
        say(_line(found[-1]))
        found.append(
            _timed(
                day, "OR-Tools, then exact search", turn, problem,
                lambda p, n: handover.library_then_search(p, seconds, n),
            )
        )  # fmt: skip
        say(_line(found[-1]))
    best = min(run.price for run in (longest, *found))
    return DayRuns(
        day, len(problem.visits), len(problem.trucks), seconds, long_seconds, best, (*found, _named(longest))
    )


def _named(run: Run) -> Run:
    return replace(run, contestant=LONG)


LONG = "planner, long search"
KEPT = "plan kept on file"


def _timed(
    day: str, name: str, seed: int, problem: Problem, plan: Callable[[Problem, int], State | None]
) -> Run:
    began = time.monotonic()
    return run_of(day, name, seed, plan(problem, seed), began)


def _line(run: Run) -> str:
    ended = "".join(f" ({trouble})" for trouble in run.troubles)
    left = f"{run.unserved} left, {run.seconds:.1f} s{ended}"
    return f"  {run.contestant}, seed {run.seed}: {run.price:.2f}, {left}"


def table(days: Sequence[DayRuns]) -> list[list[str]]:
    """Rows of a table: the gap of each contestant on each day, mean and worst."""
    names = list(dict.fromkeys(name for day in days for name in day.contestants))
    rows = [["day", "visits", "trucks", "s", "best found", *names]]
    for day in days:
        cells = []
        for name in names:
            gaps = day.gaps(name)
            if not gaps:
                cells.append("-")
            elif len(gaps) == 1:
                cells.append(f"{gaps[0]:.2f}")
            else:
                cells.append(f"{mean(gaps):.2f} ({max(gaps):.2f})")
        rows.append(
            [day.day, str(day.visits), str(day.trucks), f"{day.seconds:g}", f"{day.best:.2f}", *cells]
        )
    return rows
