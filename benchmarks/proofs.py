"""Measure how long the proof of a small invented day takes, and what the planner had missed.

python -m benchmarks.proofs                    days of 8, 10 and 12 yards, ten of each, 30 s at most
python -m benchmarks.proofs --yards 12 --seconds 60 --trucks 2
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace

from benchmarks.feeding.days import invented_day
from routing.planning.exact_day import prove
from routing.planning.problem import Problem, Solution
from routing.planning.worker import Job, work


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


def one(yards: int, seed: int, start_s: float, seconds: float, trucks: int) -> tuple[bool, float]:
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
    better = f", {100 * (found.price / best - 1):.1f} % under the start" if best < found.price - 1e-6 else ""
    ended = "proved" if proof.proved else f"gap {100 * (1 - proof.bound / best):.1f} %"
    size = f"{len(problem.visits)} visits, {len(problem.trucks)} trucks"
    told = f"price {best:.2f}, first bound {reached[0]:.2f}, {ended} in {took:.1f} s{better}"
    print(f"{yards} yards, no. {seed}: {size}, {told}", flush=True)
    return proof.proved, took


def main() -> int:
    """Print a line a day and a summary a size."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--yards", type=int, nargs="*", default=[8, 10, 12])
    parser.add_argument("--days", type=int, default=10)
    parser.add_argument("--first", type=int, default=1, help="the first number of the days")
    parser.add_argument("--seconds", type=float, default=30.0, help="longest proof")
    parser.add_argument("--start", type=float, default=2.0, help="seconds of planning before")
    parser.add_argument("--trucks", type=int, default=1, help="trucks instead of each")
    given = parser.parse_args()
    for yards in given.yards:
        seeds = range(given.first, given.first + given.days)
        runs = [one(yards, seed, given.start, given.seconds, given.trucks) for seed in seeds]
        times = sorted(took for proved, took in runs if proved)
        middle = f", median {times[len(times) // 2]:.1f} s, longest {times[-1]:.1f} s" if times else ""
        print(f"{yards} yards: {len(times)} of {len(runs)} proved{middle}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
