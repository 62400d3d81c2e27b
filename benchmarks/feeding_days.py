"""Plan feeding days with every contestant at equal processor time, beside the best plan of a long search."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf

from benchmarks.common.machine import each_on_its_core
from benchmarks.common.measure import Run, gap, mean
from benchmarks.contestants.one_day import (
    DEMO,
    ENGINE,
    LIBRARY,
    PLANNER,
    THEN_SEARCH,
    Answered,
    Asked,
    ask,
    problems_of,
)
from benchmarks.feeding.best_found import DEMO as STOPS_KEPT
from benchmarks.feeding.best_found import best_found

Say = Callable[[str], None]
Cores = Sequence[int | None]
LONG = "planner, long search"
KEPT = "plan kept on file"
OTHER_SEED = 1000
"""Added to a seed for the second core, by the planner for its workers and here for an engine."""


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
        """Per cent above the best, run by run; of runs with a plan."""
        return [gap(run.price, self.best) for run in self.of(contestant) if run.price < inf]

    def of(self, contestant: str) -> list[Run]:
        """The runs of one contestant."""
        return [run for run in self.runs if run.contestant == contestant]

    def told(self, contestant: str) -> str:
        """Mean gap and worst; ``n/m`` where only n of m runs had a plan, nothing where it did not run."""
        runs, gaps = self.of(contestant), self.gaps(contestant)
        if not gaps:
            return f"0/{len(runs)}" if runs else "-"
        worst = f" ({max(gaps):.2f})" if len(gaps) > 1 else ""
        return f"{mean(gaps):.2f}{worst}" + (f" {len(gaps)}/{len(runs)}" if len(gaps) < len(runs) else "")

    @property
    def contestants(self) -> list[str]:
        """The names, in the order they ran."""
        return list(dict.fromkeys(run.contestant for run in self.runs))


def demo_runs(seconds: float, seeds: int, long_seconds: float, cores: Cores, say: Say) -> DayRuns:
    """The demo's 36 yards: some seeds of the planner against the best plan of a long search."""
    day = _runs(DEMO, DEMO, seconds, seeds, long_seconds, cores, say)
    problems = problems_of(DEMO)
    kept = [state for p in problems if (state := best_found(p, STOPS_KEPT)) is not None]
    if not kept:
        say("the plan kept of the demo's day breaks a rule of today: it does not count")
        return day
    state = min(kept, key=lambda s: s.price)
    run = Run(DEMO, KEPT, 0, state.price, len(state.unserved), 0.0)
    return replace(day, best=min(day.best, run.price), runs=(*day.runs, run))


def invented_runs(
    sizes: Sequence[tuple[int, int]], seconds: float, seeds: int, long_seconds: float, cores: Cores, say: Say
) -> list[DayRuns]:
    """Invented days by (yards, seed of the operation)."""
    return [
        _runs(f"{yards}-{number}", f"{yards} yards, no. {number}", seconds, seeds, long_seconds, cores, say)
        for yards, number in sizes
    ]


def _runs(
    key: str, name: str, seconds: float, seeds: int, long_seconds: float, cores: Cores, say: Say
) -> DayRuns:
    say(f"{name}: best plan of a search of {long_seconds:g} s on two cores")
    long = [Asked(key, PLANNER, long_seconds, 1, worker) for worker in (0, 1)]
    answers = [found for _, found in each_on_its_core(ask, long, cores)]
    best = min(answers, key=lambda a: a.run.price)
    longest = replace(_both(answers[0].run, answers[1].run), day=name, contestant=LONG)
    todo = _asked(key, seconds, seeds, best.variant)
    found: dict[Asked, Answered] = {}
    for asked, answered in each_on_its_core(ask, todo, cores):
        found[asked] = answered
        say(_line(asked, answered.run))
    runs = [replace(run, day=name) for run in _told(todo, found)]
    problem = problems_of(key)[best.variant]
    price = min(run.price for run in (longest, *runs))
    return DayRuns(
        name, len(problem.visits), len(problem.trucks), seconds, long_seconds, price, (*runs, longest)
    )


def _asked(key: str, seconds: float, seeds: int, variant: int) -> list[Asked]:
    """Two runs for each seed of who takes one, so that one core and two can be told; one of the others."""
    todo = []
    for seed in range(1, seeds + 1):
        todo += [Asked(key, PLANNER, seconds, seed, worker) for worker in (0, 1)]
        todo += [Asked(key, ENGINE, seconds, s, 0, variant) for s in (seed, seed + OTHER_SEED)]
        if seed == 1:
            todo.append(Asked(key, LIBRARY, seconds, seed, 0, variant))
        todo.append(Asked(key, THEN_SEARCH, seconds, seed, 0, variant))
    return todo


def _told(todo: Sequence[Asked], found: dict[Asked, Answered]) -> list[Run]:
    """The runs, and of who had two of them also what came of both, on two cores."""
    one_core, two_cores = [], []
    for asked in todo:
        first, run = asked.seed <= OTHER_SEED and not asked.worker, found[asked].run
        if not first:
            continue
        second = replace(asked, worker=1) if asked.contestant == PLANNER else None
        if asked.contestant == ENGINE:
            second = replace(asked, seed=asked.seed + OTHER_SEED)
        one_core.append(replace(run, contestant=f"{asked.contestant}, 1 core"))
        if second is not None:
            both = _both(run, found[second].run)
            two_cores.append(replace(both, contestant=f"{asked.contestant}, 2 cores"))
    return [*two_cores, *one_core]


def _both(a: Run, b: Run) -> Run:
    """Two runs side by side: the cheaper plan, under the seed of the first, and the course of both."""
    better = b if b.price < a.price else a
    trace: list[tuple[float, float]] = []
    for at, price in sorted((*a.trace, *b.trace)):
        if not trace or price < trace[-1][1]:
            trace.append((at, price))
    seconds = max(a.seconds, b.seconds)
    return replace(
        better, seed=a.seed, trace=tuple(trace), seconds=seconds, troubles=(*a.troubles, *b.troubles)
    )


def _line(asked: Asked, run: Run) -> str:
    ended = "".join(f" ({trouble})" for trouble in run.troubles)
    left = f"{run.unserved} left, {run.seconds:.1f} s{ended}"
    who = f"{run.contestant}, worker {asked.worker + 1}" if asked.contestant == PLANNER else run.contestant
    return f"  {who}, seed {run.seed}: {run.price:.2f}, {left}"


def table(days: Sequence[DayRuns]) -> list[list[str]]:
    """Rows of a table: the gap of each contestant on each day, mean and worst."""
    names = list(dict.fromkeys(name for day in days for name in day.contestants))
    rows = [["day", "visits", "trucks", "s", "best found", *names]]
    for day in days:
        cells = [day.told(name) for name in names]
        rows.append(
            [day.day, str(day.visits), str(day.trucks), f"{day.seconds:g}", f"{day.best:.2f}", *cells]
        )
    return rows
