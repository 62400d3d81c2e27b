"""Hold proofs and bounds of small days against every plan there is, on many tiny days made up from seeds.

    python -m benchmarks.tiny_days                 1,900 days, some ten minutes
    python -m benchmarks.tiny_days --share 0.1     a tenth of them

A bound above the best plan that trying them all finds is an error (exit code 1).
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass, field
from math import inf
from statistics import median

from routing.planning.bound.lower_bound import lower_bound
from routing.planning.exact.proof import prove
from routing.planning.problem.problem import Problem
from routing.planning.search.budget import Budget
from tests.support.tiny_days import any_kind, best_price, make_day, small_rack

ROUNDING = 1e-6
BOUND_STEPS = 400


@dataclass(frozen=True)
class Group:
    """Tiny days of one size: how many, and how many depot calls in a row the enumeration tries."""

    name: str
    visits: int
    days: int
    calls: int
    rack: bool = False


GROUPS = (
    Group("3 visits", 3, 1200, 1),
    Group("3 visits, two calls in a row", 3, 250, 2),
    Group("3 visits, a rack for one of them", 3, 150, 1, rack=True),
    Group("4 visits", 4, 250, 1),
    Group("5 visits", 5, 40, 1),
    Group("6 visits", 6, 4, 1),
)


@dataclass
class Tally:
    """What came out."""

    days: int = 0
    proved: int = 0
    cheaper: int = 0
    seconds: float = 0.0
    wrong: list[str] = field(default_factory=list)
    gaps: list[float] = field(default_factory=list)


def tried(problem: Problem, calls: int, tally: Tally, name: str) -> None:
    """One day: no bound may be above the best plan, and a proved plan must be as good."""
    best = best_price(problem, calls)
    began = time.perf_counter()
    proof = prove(problem, None, lambda: 0.0, lambda bound, better: None)
    tally.seconds += time.perf_counter() - began
    assert proof.solution is not None
    missed = sum(problem.visits[v].required for v in proof.solution.unserved)
    price = proof.solution.objective + problem.dear * missed
    tally.days += 1
    tally.proved += proof.proved
    # The enumeration tries few calls in a row: a plan with more of them may be cheaper.
    tally.cheaper += price < best - ROUNDING
    bound = lower_bound(problem, inf, Budget(None, BOUND_STEPS).phase(1.0), lambda _bound: None)
    tally.gaps.append(1.0 - bound / best if best else 0.0)
    if bound > best + ROUNDING * (1.0 + best):
        tally.wrong.append(f"{name}: bound by rounds {bound}, best {best}")
    if proof.bound > best + ROUNDING or (proof.proved and price > best + 1e-5):
        tally.wrong.append(f"{name}: bound {proof.bound}, plan {price}, best {best}")


def main(arguments: list[str] | None = None) -> int:
    """Run the groups and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    given = parser.parse_args(arguments)
    wrong: list[str] = []
    for group in GROUPS:
        tally = Tally()
        for seed in range(given.first, given.first + max(1, round(group.days * given.share))):
            problem = make_day(any_kind(seed, group.visits), seed)
            if group.rack:
                problem = small_rack(seed)
            tried(problem, group.calls, tally, f"{group.name}, seed {seed}")
        print(
            f"{group.name}: {tally.days} days, {tally.proved} proved, {tally.cheaper} below the enumeration, "
            f"{len(tally.wrong)} wrong, {1000 * tally.seconds / tally.days:.0f} ms a proof, "
            f"median gap of the bound by rounds {100 * median(tally.gaps):.2f} %",
            flush=True,
        )
        wrong += tally.wrong
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
