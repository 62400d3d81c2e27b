"""Measure how long the proof of a small invented day takes, and what the planner had missed.

python -m benchmarks.proofs                    days of 8, 10 and 12 yards, ten of each, 30 s at most
python -m benchmarks.proofs --yards 12 --seconds 60 --trucks 2
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from benchmarks.common.machine import prepare
from benchmarks.common.measure import setting
from benchmarks.common.page import PAGE, table, write_section
from routing.planning.exact.proof import prove
from routing.planning.problem.problem import Problem, Solution
from routing.planning.run.worker import Job, work
from tests.support.invented.days import invented_day

INTRODUCTION = """\
## Proofs of small days

Invented days, planned for {start_s:g} s by one worker, then proved: no plan is cheaper. A proof has
{seconds:g} s. *With refills*: the best plan calls at a depot on the way. *Gained*: how much cheaper the best
plan of the proof is than the one it began with.
"""


def price_of(problem: Problem, solution: Solution) -> float:
    """What a plan costs with the price of required visits that it leaves out."""
    return solution.objective + problem.dear * sum(problem.visits[v].required for v in solution.unserved)


def multiplied(problem: Problem, times: int) -> Problem:
    """A day with so many trucks for each, that may go where it may."""
    trucks = tuple(replace(t, name=f"{t.name}-{i}") for t in problem.trucks for i in range(times))
    visits = tuple(
        replace(v, trucks=frozenset(k * times + i for k in v.trucks for i in range(times))) if v.trucks else v
        for v in problem.visits
    )
    return replace(problem, trucks=trucks, visits=visits)


@dataclass(frozen=True)
class Proved:
    """How the proof of one day went: seconds, the gap that was left, and how often the plan refills."""

    yards: int
    proved: bool
    seconds: float
    gap: float
    refills: int
    gained: float


def one(yards: int, seed: int, start_s: float, seconds: float, trucks: int) -> Proved:
    """Plan one day, then prove it; says how it went."""
    problems = invented_day(seed, yards)
    if trucks > 1:
        problems = tuple(multiplied(problem, trucks) for problem in problems)
    found = work(Job(problems, 1, start_s, None), lambda told: None)
    problem = problems[found.variant]
    began = time.perf_counter()
    reached = [float("-inf")]

    def tell(bound: float, better: Solution | None) -> None:
        if reached[0] == float("-inf"):
            reached[0] = bound

    proof = prove(problem, found.solution, lambda: (time.perf_counter() - began) / seconds, tell)
    took = time.perf_counter() - began
    assert proof.solution is not None
    best = price_of(problem, proof.solution)
    gained = max(0.0, 100 * (found.price / best - 1))
    better = f", {gained:.1f} % under the start" if best < found.price - 1e-6 else ""
    gap = 0.0 if proof.proved else 100 * (1 - proof.bound / best)
    ended = "proved" if proof.proved else f"gap {gap:.1f} %"
    size = f"{len(problem.visits)} visits, {len(problem.trucks)} trucks"
    told = f"price {best:.2f}, first bound {reached[0]:.2f}, {ended} in {took:.1f} s{better}"
    print(f"{yards} yards, no. {seed}: {size}, {told}", flush=True)
    refills = sum(stop < 0 for route in proof.solution.routes for stop in route)
    return Proved(yards, proof.proved, took, gap, refills, gained)


def section(found: Sequence[Proved], seconds: float, start_s: float, command: str) -> list[str]:
    """The section's lines: a row for each size."""
    lines = [INTRODUCTION.format(seconds=seconds, start_s=start_s)]
    lines += [f"`{command}`, {date.today().isoformat()}. {setting()}", ""]
    head = [
        "yards",
        "days",
        "with refills",
        "proved",
        "of those with refills",
        "median, s",
        "longest, s",
        "worst gap, %",
    ]
    cells = [[*head, "most gained, %"]]
    for yards in dict.fromkeys(p.yards for p in found):
        mine = [p for p in found if p.yards == yards]
        refilled, times = [p for p in mine if p.refills], sorted(p.seconds for p in mine if p.proved)
        middle = [f"{times[len(times) // 2]:.1f}", f"{times[-1]:.1f}"] if times else ["-", "-"]
        counts = [len(mine), len(refilled), len(times), sum(p.proved for p in refilled)]
        worst = [f"{max(p.gap for p in mine):.1f}", f"{max(p.gained for p in mine):.1f}"]
        cells.append([str(yards), *map(str, counts), *middle, *worst])
    return [*lines, *table(cells)]


def main(arguments: list[str] | None = None) -> int:
    """Print a line a day and write the section."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--yards", type=int, nargs="*", default=[8, 10, 12])
    parser.add_argument("--days", type=int, default=10)
    parser.add_argument("--first", type=int, default=1, help="the first number of the days")
    parser.add_argument("--seconds", type=float, default=30.0, help="longest proof")
    parser.add_argument("--start", type=float, default=2.0, help="seconds of planning before")
    parser.add_argument("--trucks", type=int, default=1, help="trucks instead of each")
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    given = parser.parse_args(arguments)
    prepare()
    found = [
        one(yards, seed, given.start, given.seconds, given.trucks)
        for yards in given.yards
        for seed in range(given.first, given.first + given.days)
    ]
    words = [
        f"--yards {' '.join(map(str, given.yards))}",
        f"--days {given.days}",
        f"--seconds {given.seconds:g}",
    ]
    words += [f"--trucks {given.trucks}"] if given.trucks > 1 else []
    command = " ".join(["python -m benchmarks.proofs", *words])
    write_section(Path(given.out), "proofs", section(found, given.seconds, given.start, command))
    return 0


if __name__ == "__main__":
    sys.exit(main())
