"""Run the engines in a process of their own, which tells each better plan as it is found.

Started by ``solve``: the job comes pickled on standard input, messages go pickled to standard output. A
worker that hangs or dies costs its parent nothing but a warning.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import BinaryIO

from routing.planning.problem import Problem, Solution, Stops
from routing.planning.search import adopt, afresh, improve
from routing.planning.state import Judge, State

# Share of the time for the routing engine; the exact search has the rest. Small days converge at once in
# the engine and gain from the exact search; large ones need the engine longer (docs/decisions/engines.md).
ENGINE_SHARE = ((60, 0.1), (150, 0.5), (10**9, 0.7))
RACE_SHARE = 0.08
SEARCH_STEPS_PER_ITERATION = 0.05
KEPT = 4
ANNEALS = 2
ANNEALS_SHARE = 0.6


@dataclass(frozen=True)
class Job:
    """What one worker is to do: problems to choose among, a seed, and a limit by time or iterations."""

    problems: tuple[Problem, ...]
    seed: int
    seconds: float | None
    iterations: int | None


@dataclass(frozen=True)
class Found:
    """A plan found: which problem it solves, its routes and price. ``final`` ends the worker's work."""

    variant: int
    solution: Solution
    price: float
    stage: str
    final: bool = False


class Budget:
    """Measures what share of the work is done, by the clock or by counting steps."""

    def __init__(self, seconds: float | None, iterations: int | None) -> None:
        self.seconds, self.iterations = seconds, iterations
        self.started = time.perf_counter()

    def phase(self, share: float, steps: float = 1.0) -> Callable[[], float]:
        """Progress of a phase that may use a share of the budget: 0 at first, 1 when it is used up."""
        begun, count = time.perf_counter(), 0
        most = max(1, int((self.iterations or 0) * share * steps))

        def progress() -> float:
            nonlocal count
            count += 1
            by_count = (count - 1) / most if self.iterations is not None else 0.0
            by_time = 0.0
            if self.seconds is not None:
                by_time = (time.perf_counter() - begun) / max(1e-6, self.seconds * share)
            return max(by_count, by_time)

        return progress

    def rest(self) -> float:
        """The share of the time that is left (1 less what was spent, by the clock)."""
        if self.seconds is None:
            return 0.0
        return max(0.0, 1.0 - (time.perf_counter() - self.started) / self.seconds)


def engine_share(visits: int) -> float:
    """The routing engine's share of the time for a day of so many visits."""
    return next(share for most, share in ENGINE_SHARE if visits <= most)


def work(job: Job, tell: Callable[[Found], None]) -> Found:
    """Race the problems in the routing engine, carry on with the best, and polish it exactly."""
    budget = Budget(job.seconds, job.iterations)
    judges = [Judge(problem) for problem in job.problems]
    size = len(job.problems[0].visits)
    engine = engine_share(size)
    habit = job.problems[0].habit
    states = [adopt(judges[0], habit.routes if habit else ((),) * len(job.problems[0].trucks))]
    tell(Found(0, states[0].solution(), states[0].price, "insertion"))
    variant = 0
    if len(judges) > 1:
        raced = [_route(judge, job.seed, budget.phase(RACE_SHARE)) for judge in judges]
        variant = min(range(len(raced)), key=lambda i: raced[i].price)
        engine -= RACE_SHARE * len(judges)
        states = [states[0], raced[variant]] if variant == 0 else [raced[variant]]
        tell(Found(variant, raced[variant].solution(), raced[variant].price, "routing"))
    states.append(_route(judges[variant], job.seed, budget.phase(max(0.1, engine))))
    share = budget.rest() if job.iterations is None else 1.0 - engine_share(size)

    def told(found: Solution, price: float) -> None:
        tell(Found(variant, found, price, "polishing"))

    best = _polish(job, states, budget, share, told)
    return Found(variant, best.solution(), best.price, "done", final=True)


def _polish(
    job: Job, states: list[State], budget: Budget, share: float, tell: Callable[[Solution, float], None]
) -> State:
    """Anneal from the engine's start and from one made afresh, then from the best that came of them.

    Which yards are left out is decided early in an anneal and hardly mended later, so that two starts find
    better days than one (docs/decisions/engines.md).
    """
    first = min(states, key=lambda s: s.price)
    found = []
    lowest = float("inf")

    def tell_better(solution: Solution, price: float) -> None:
        nonlocal lowest
        if price < lowest:
            lowest = price
            tell(solution, price)

    for number in range(ANNEALS):
        progress = budget.phase(share * ANNEALS_SHARE / ANNEALS, SEARCH_STEPS_PER_ITERATION)
        # A re-plan stays near what the drivers were told; a day begun from nothing would not.
        anew = number % 2 == 1 and first.problem.habit is None
        start = afresh(first.judge, job.seed + number) if anew else first.copy()
        found.append(improve(start, job.seed + 101 * number, progress, tell_better))
    progress = budget.phase(share * (1.0 - ANNEALS_SHARE), SEARCH_STEPS_PER_ITERATION)
    best = min(found, key=lambda s: s.price)
    return improve(best, job.seed, progress, tell_better)


def _route(judge: Judge, seed: int, progress: Callable[[], float]) -> State:
    """The best exact plan made from the routing engine's last few improvements."""
    from routing.planning.engine import find_routes

    kept: deque[tuple[Stops, ...]] = deque(maxlen=KEPT)
    last = find_routes(judge.problem, seed, lambda _: progress() >= 1.0, kept.append)
    kept.append(last)
    return min((adopt(judge, routes) for routes in dict.fromkeys(kept)), key=lambda s: s.price)


def main() -> None:
    """Read a job, do it, and tell what is found."""
    out: BinaryIO = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    job: Job = pickle.load(sys.stdin.buffer)
    if hasattr(signal, "alarm") and job.seconds is not None:
        # The kernel ends a worker that outlives its parent or hangs in native code.
        signal.alarm(int(job.seconds * 2) + 60)

    def tell(found: Found) -> None:
        pickle.dump(found, out)
        out.flush()

    tell(work(job, tell))
