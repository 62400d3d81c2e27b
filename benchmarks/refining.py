"""Tell which search carries a routing engine's plan on: ours or OR-Tools', same start, same time."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from benchmarks.contestants import engine_alone, handover
from benchmarks.feeding.days import Problems, demo_day, invented_day
from benchmarks.measure import gap


@dataclass(frozen=True)
class Refined:
    """One start, and what each made of it: prices."""

    day: str
    seed: int
    seconds: float
    start: float
    search: float
    library: float

    @property
    def cells(self) -> list[str]:
        """A row of the table: start, and the change in per cent."""
        return [
            self.day,
            str(self.seed),
            f"{self.seconds:g}",
            f"{self.start:.2f}",
            f"{gap(self.search, self.start):+.2f}",
            f"{gap(self.library, self.start):+.2f}",
        ]


HEAD = ["day", "seed", "s", "PyVRP's plan", "exact search, %", "OR-Tools from it, %"]


def refine(
    sizes: Sequence[tuple[int, int]], seeds: int, engine_s: float, seconds: float, say: Callable[[str], None]
) -> list[Refined]:
    """Start from the engine's plan of each day and seed, and give each search the same time."""
    days: list[tuple[str, Problems]] = [("demo", demo_day())]
    days += [(f"{yards} yards, no. {number}", invented_day(number, yards)) for yards, number in sizes]
    found = []
    for name, problems in days:
        for seed in range(1, seeds + 1):
            start = engine_alone.plan(problems[0], engine_s, seed, time.process_time)
            search = handover.by_search(start, seconds, seed)
            library = handover.by_library(start, seconds)
            found.append(Refined(name, seed, seconds, start.price, search.price, library.price))
            say("  " + ", ".join(found[-1].cells))
    return found
