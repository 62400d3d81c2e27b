"""Hold the compiled search against the plain one, ``python -m benchmarks.compiled``: steps a second, prices.

Each run has a process of its own and goes by its processor time on one core. What machine code costs to make
is paid once, before: it is told apart.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any

from benchmarks.common.machine import cores_of, each_on_its_core, prepare
from benchmarks.common.measure import gap, mean, setting
from benchmarks.common.page import PAGE, chart, table, write_section
from benchmarks.common.plots import curves
from benchmarks.contestants.one_day import PLANNER, ROOT, Asked, ask, problems_of
from benchmarks.contestants.planner_direct import by_processor_time
from routing.planning.evaluate.state import Judge
from routing.planning.run import worker
from routing.planning.run.initial_solutions import Starts
from routing.planning.search import budget
from routing.planning.search.search import adopt

VARIABLE = "FEEDROUND_PLAIN"
"""Set to 1 it leaves the search to plain Python."""
DAYS = ("demo", "36-1", "36-2", "36-3", "100-1", "300-1")
SECONDS = (1.0, 3.0, 10.0, 30.0)
LEAST_GAP = 0.01
SHORT_S = 0.1
INTRODUCTION = """\
## The search, plain and compiled

The same search by plain Python (`{variable}=1`) and by machine code: one worker on one core, seconds of its
own processor. *Steps a second*: yards taken out, put back and judged by all rules, from a plan by insertion,
over {steps_s:g} s. *Prices* are of whole runs as the planner makes them (first routes by an engine, then the
search), each with that time in all; means over {seeds}. The machine code was there before.
{made}
"""


@dataclass(frozen=True)
class Stepped:
    """How many steps a search took in how many seconds; ``first_s``: what a first one took too long."""

    steps: int
    seconds: float
    first_s: float

    @property
    def rate(self) -> float:
        """Steps a second."""
        return self.steps / max(1e-9, self.seconds)


Steps = dict[tuple[str, bool], Stepped]
"""By day, and whether plain."""


@dataclass(frozen=True)
class Priced:
    """What one run of the planner came to."""

    day: str
    plain: bool
    seconds: float
    seed: int
    price: float
    left: int


def stepped(day: str, seconds: float) -> Stepped:
    """Search a day here from a plan by insertion, and count the steps."""
    by_processor_time()
    problem = problems_of(day)[0]
    start = adopt(Judge(problem), ((),) * len(problem.trucks))
    began = time.process_time()
    _searched(problem, start, SHORT_S)
    first_s = max(0.0, time.process_time() - began - SHORT_S)
    began = time.process_time()
    steps = _searched(problem, start, seconds)
    return Stepped(steps, time.process_time() - began, first_s)


def _searched(problem: Any, start: Any, seconds: float) -> int:
    """Steps that a worker takes which is given its first plan."""
    phases: list[budget.Phase] = []

    class Counted(budget.Budget):
        def phase(self, share: float, steps: float = 1.0) -> budget.Phase:
            phases.append(super().phase(share, steps))
            return phases[-1]

    real = worker.Budget, worker.find_starts
    try:
        worker.Budget = Counted  # type: ignore[misc]
        worker.find_starts = lambda *_: Starts(0, start.copy(), 0.0)
        worker.work(worker.Job((problem,), 1, seconds, None), lambda _: None)
    finally:
        worker.Budget, worker.find_starts = real  # type: ignore[misc]
    return sum(phase.taken for phase in phases)


def _environment(plain: bool) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name != VARIABLE}
    return {**kept, VARIABLE: "1"} if plain else kept


def stepped_apart(task: tuple[str, bool, float]) -> Stepped:
    """The same in a process of its own, plain or compiled."""
    day, plain, seconds = task
    words = [sys.executable, "-m", "benchmarks.compiled", "--one", day, "--steps", str(seconds)]
    done = subprocess.run(
        words, capture_output=True, check=True, cwd=ROOT, text=True, env=_environment(plain)
    )
    return Stepped(**json.loads(done.stdout.splitlines()[-1]))


def priced(task: tuple[str, bool, float, int]) -> Priced:
    """One run of the planner on a day."""
    day, plain, seconds, seed = task
    run = ask(Asked(day, PLANNER, seconds, seed), _environment(plain)).run
    if run.troubles:
        print(f"{day}: {'; '.join(run.troubles)}", file=sys.stderr, flush=True)
    return Priced(day, plain, seconds, seed, run.price, run.unserved)


def section(
    steps: Steps,
    prices: Sequence[Priced],
    steps_s: float,
    made_s: float,
    command: str,
    charts: Path,
) -> list[str]:
    """The section's lines."""
    seeds = max((p.seed for p in prices), default=1)
    first = max((s.first_s for (_, plain), s in steps.items() if not plain), default=0.0)
    made = f"To read it took {first:.1f} s of processor time at most, which the prices bear"
    made += f"; making it, once on a computer, took {made_s:.0f} s." if made_s else "."
    lines = [
        INTRODUCTION.format(
            variable=VARIABLE, steps_s=steps_s, seeds=f"{seeds} seeds" if seeds > 1 else "one seed",
            made=made,
        )
    ]  # fmt: skip
    lines += [f"`{command}`, {date.today().isoformat()}. {setting()}", ""]
    cells = [["day", "plain, steps a second", "compiled, steps a second", "times"]]
    for day in dict.fromkeys(day for day, _ in steps):
        plain, fast = steps[day, True], steps[day, False]
        cells.append([_named(day), f"{plain.rate:.0f}", f"{fast.rate:.0f}", f"{fast.rate / plain.rate:.0f}"])
    return [*lines, *table(cells), *_of_prices(prices, charts)]


def _of_prices(prices: Sequence[Priced], charts: Path) -> list[str]:
    times = sorted({p.seconds for p in prices})
    head = ["price (yards left)", *(f"{way}, {s:g} s" for s in times for way in ("plain", "compiled"))]
    cells, gaps = [head], {(plain, s): [] for plain in (True, False) for s in times}
    for day in dict.fromkeys(p.day for p in prices):
        best, row = min(p.price for p in prices if p.day == day), [_named(day)]
        for s in times:
            for plain in (True, False):
                mine = [p for p in prices if (p.day, p.plain, p.seconds) == (day, plain, s)]
                price = mean([p.price for p in mine])
                row.append(f"{price:.0f} ({mean([p.left for p in mine]):g})")
                gaps[plain, s].append(gap(price, best))
        cells.append(row)
    means = [f"{mean(gaps[plain, s]):.1f} %" for s in times for plain in (True, False)]
    cells.append(["mean gap to the cheapest of all", *means])
    series = [
        (name, [(s, max(LEAST_GAP, mean(gaps[plain, s]))) for s in times])
        for name, plain in (("plain", True), ("compiled", False))
    ]
    svg = curves("Mean gap to the cheapest plan of the day", "seconds", "gap, %", series)
    return [
        *table(cells),
        *chart(charts, "compiled.svg", svg, "Mean gap, plain and compiled"),
    ]


def _named(day: str) -> str:
    yards, _, number = day.partition("-")
    return f"{yards} yards, no. {number}" if number else f"the {day}"


def main(arguments: list[str] | None = None) -> int:
    """Measure both searches and write the section of the page."""
    given = _parser().parse_args(arguments)
    if given.one:
        print(json.dumps(asdict(stepped(given.one, given.steps))))
        return 0
    cores = cores_of(given.jobs)
    made_s = prepare()
    tasks = [(day, plain, given.steps) for day in given.days for plain in (True, False)]
    steps = {(day, plain): found for (day, plain, _), found in each_on_its_core(stepped_apart, tasks, cores)}
    for (day, plain), found in steps.items():
        _say(f"{_named(day)}, {'plain' if plain else 'compiled'}: {found.rate:.1f} steps a second")
    runs = [
        (day, plain, s, seed)
        for seed in range(1, given.seeds + 1)
        for s in sorted(given.seconds)
        for day in given.days
        for plain in (True, False)
    ]
    _say(f"{len(runs)} runs: about {sum(run[2] + 2 for run in runs) / 60 / len(cores):.0f} min")
    prices = []
    for _, found in each_on_its_core(priced, runs, cores):
        prices.append(found)
        way = "plain" if found.plain else "compiled"
        _say(f"{_named(found.day)}, {way}, {found.seconds:g} s, seed {found.seed}: {found.price:.2f}")
    order = {run: at for at, run in enumerate(runs)}
    prices.sort(key=lambda p: order[p.day, p.plain, p.seconds, p.seed])
    words = [
        "--days",
        *given.days,
        "--seconds",
        *(f"{s:g}" for s in given.seconds),
        "--seeds",
        str(given.seeds),
    ]
    command = " ".join(["python -m benchmarks.compiled", *words])
    page = Path(given.out)
    lines = section(dict(sorted(steps.items(), key=lambda item: given.days.index(item[0][0]))), prices,
                    given.steps, made_s, command, page.parent / "benchmarks")  # fmt: skip
    write_section(page, "compiled", lines)
    print(f"written: {page}")
    return 0


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.compiled", description=__doc__)
    parser.add_argument("--days", nargs="+", default=list(DAYS), help="demo, or yards-number: 36-1")
    parser.add_argument("--seconds", type=float, nargs="+", default=list(SECONDS), help="times of a run")
    parser.add_argument("--seeds", type=int, default=2)
    parser.add_argument("--steps", type=float, default=5.0, help="seconds in which steps are counted (5)")
    parser.add_argument("--jobs", type=int, default=1, help="runs at a time, each on a core of its own (1)")
    parser.add_argument("--one", help="count the steps of one day here")
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    return parser


if __name__ == "__main__":
    sys.exit(main())
