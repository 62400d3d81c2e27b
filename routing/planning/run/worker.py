"""Run the engines in a process of their own, which tells each better plan and bound as it is found.

Started by ``solve``: the job comes pickled on standard input, messages go pickled to standard output. A
worker that hangs or dies costs its parent nothing but a warning.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf
from typing import BinaryIO

from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Problem, Solution
from routing.planning.run.initial_solutions import Starts, as_told, find_starts
from routing.planning.search.backend import select
from routing.planning.search.budget import Budget
from routing.planning.search.search import adopt, afresh, improve

SEARCH_STEPS_PER_ITERATION = 0.05  # of the plain code
# A re-plan asks no engine: one step of the search stands for each of its iterations.
REST_STEPS_PER_ITERATION = 1.0
ANNEALS_SHARE = 0.6
# Where each anneal starts: from the best plan known, or from a day made anew. Which yards are left out is
# decided early in an anneal and hardly mended later, so that several starts find better days than one, where
# the time suffices for several.
ANNEALS = (("best", "anew"), ("best", "best", "best"))
SEVERAL_UP_TO = 60


@dataclass(frozen=True)
class Job:
    """What one worker is to do: problems to choose among, a seed, and a limit by time or iterations.

    ``number`` tells workers apart. ``bounded`` are the problems that allow every plan of the day, to be
    bounded in the ``bound_share`` of the time that the search leaves. After ``longest_s`` nobody listens.
    """

    problems: tuple[Problem, ...]
    seed: int
    seconds: float | None
    iterations: int | None
    number: int = 0
    bounded: tuple[Problem, ...] = ()
    bound_share: float = 0.0
    longest_s: float | None = None


@dataclass(frozen=True)
class Found:
    """A plan found: which problem it solves, its routes and price. ``final`` ends the worker's work.

    ``bound`` is below the price of every plan of the day, found by ``method``. ``trouble``: what failed.
    """

    variant: int
    solution: Solution
    price: float
    stage: str
    bound: float = -inf
    method: str = ""
    trouble: str = ""
    final: bool = False


def work(job: Job, tell: Callable[[Found], None]) -> Found:
    """Find first plans, polish the best exactly, and bound the day in the time that is kept for it."""
    budget = Budget(job.seconds, job.iterations)
    judges = [Judge(problem) for problem in job.problems]
    starts, trouble = _first(job, judges, budget, tell)
    share = max(0.0, budget.rest(starts.share) - job.bound_share)

    def told(found: Solution, price: float) -> None:
        tell(Found(starts.variant, found, price, "polishing"))

    troubles = [trouble, select().trouble]
    best = _polish(job, starts.best, budget, share, told, troubles.append)
    trouble = "; ".join(dict.fromkeys(filter(None, troubles)))
    found = Found(starts.variant, best.solution(), best.price, "done", trouble=trouble)
    if job.bounded and job.bound_share:
        found = _bound(job, found, judges[starts.variant], budget, tell)
    return replace(found, final=True)


def _first(
    job: Job, judges: list[Judge], budget: Budget, tell: Callable[[Found], None]
) -> tuple[Starts, str]:
    """The plan to begin with: what was told, by insertion, or by an engine; and what failed, if anything."""
    if job.problems[0].habit is not None:
        starts, trouble = as_told(judges), ""
        tell(Found(starts.variant, starts.best.solution(), starts.best.price, "insertion"))
        return starts, trouble

    def told(variant: int, solution: Solution, price: float) -> None:
        tell(Found(variant, solution, price, "routing"))

    first = adopt(judges[0], ((),) * len(job.problems[0].trucks))
    tell(Found(0, first.solution(), first.price, "insertion"))
    try:
        starts = find_starts(judges, job.seed, budget, 1.0 - job.bound_share, job.number, told)
    except Exception as error:
        # An engine that refuses a day is no reason to plan it by insertion alone.
        return Starts(0, first, 0.0), f"an engine failed, the search went on without it ({error!r:.200})"
    tell(Found(starts.variant, starts.best.solution(), starts.best.price, "routing"))
    better = starts.variant == 0 and first.price < starts.best.price
    return replace(starts, best=first) if better else starts, ""


def _polish(
    job: Job,
    first: State,
    budget: Budget,
    share: float,
    tell: Callable[[Solution, float], None],
    on_trouble: Callable[[str], None],
) -> State:
    """Anneal from several starts, then from the best that came of them."""
    if share <= 0:
        return first
    lowest = inf
    rate = SEARCH_STEPS_PER_ITERATION if first.problem.habit is None else REST_STEPS_PER_ITERATION

    def tell_better(solution: Solution, price: float) -> None:
        nonlocal lowest
        if price < lowest:
            lowest = price
            tell(solution, price)

    def anneal(start: State, seed: int, share: float) -> State:
        return improve(start, seed, budget.phase(share, rate * select().speed), tell_better, on_trouble)

    if len(first.problem.visits) > SEVERAL_UP_TO:
        return anneal(first.copy(), job.seed, share)
    found = []
    anneals = ANNEALS[job.number % len(ANNEALS)]
    for number, begin in enumerate(anneals):
        # A re-plan stays near what the drivers were told; a day begun from nothing would not.
        anew = begin == "anew" and first.problem.habit is None
        start = afresh(first.judge, job.seed + number) if anew else first.copy()
        found.append(anneal(start, job.seed + 101 * number, share * ANNEALS_SHARE / len(anneals)))
    best = min(found, key=lambda s: s.price)
    return anneal(best, job.seed, share * (1.0 - ANNEALS_SHARE))


def _bound(job: Job, found: Found, judge: Judge, budget: Budget, tell: Callable[[Found], None]) -> Found:
    """The plan found with a bound on every plan of the day, or a better plan that a proof comes by."""
    from routing.planning.run.bounds import bound_day

    def note(bound: float, plan: Solution | None, method: str) -> None:
        nonlocal found
        found = replace(found, bound=max(bound, found.bound), method=method, stage="proving")
        if plan is not None and (state := adopt(judge, plan.routes)).price < found.price:
            found = replace(found, solution=state.solution(), price=state.price)
        tell(found)

    left = min(job.bound_share, budget.rest(1.0 - job.bound_share))

    def phase(share: float, steps: float) -> Callable[[], float]:
        return budget.phase(share * left, steps)

    try:
        bound_day(job.bounded, judge.problem.visits, found.solution, found.price, phase, note)
    except Exception as error:
        found = replace(found, trouble=f"the lower bound failed and may be low ({error!r:.200})")
    return found


def main() -> None:
    """Read a job, do it, and tell what is found."""
    out: BinaryIO = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    job: Job = pickle.load(sys.stdin.buffer)
    if hasattr(signal, "alarm") and job.longest_s is not None:
        # The kernel ends a worker that outlives its parent or hangs in native code.
        signal.alarm(int(job.longest_s) + 60)

    def tell(found: Found) -> None:
        pickle.dump(found, out)
        out.flush()

    tell(work(job, tell))
