"""Find plans for the exact search to start from, and which choice of syrups in the tanks to carry on with."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from routing.planning.budget import Budget
from routing.planning.engine_fit import states_all
from routing.planning.problem import Stops
from routing.planning.search import adopt
from routing.planning.state import Judge, State

# Days of up to so many visits start from OR-Tools' routing library, larger ones from PyVRP; where PyVRP can
# state all of a problem the exact search gains next to nothing (docs/decisions/engines.md).
LIBRARY_UP_TO = 60
START_SHARE = ((60, 0.1), (150, 0.5), (10**9, 0.7))
STATED_SHARE = 0.9
# Choices of syrups race in the engine where its first local search fits the time; larger days by insertion.
RACE_UP_TO = 150
RACE_SHARE = 0.08
CHECKS_PER_ITERATION = 1000.0
KEPT = 4


@dataclass(frozen=True)
class Starts:
    """Plans of one choice of syrups, cheapest first, and the share of the time that they took."""

    variant: int
    plans: tuple[State, ...]
    share: float

    @property
    def best(self) -> State:
        """The cheapest."""
        return self.plans[0]


def as_told(judges: Sequence[Judge]) -> Starts:
    """Going on as the drivers were told, under the choice of syrups in the tanks that makes it cheapest.

    The engines know nothing of what was told and begin from nothing: in the seconds of a re-plan the exact
    search finds better days from what was told.
    """
    plans = [adopt(judge, judge.problem.habit.routes) for judge in judges if judge.problem.habit]
    return _best([[plan] for plan in plans], 0.0)


def find_starts(judges: Sequence[Judge], seed: int, budget: Budget) -> Starts:
    """First plans: every choice of syrups is tried for a short while, the best one is gone on with."""
    problem = judges[0].problem
    visits, stated = len(problem.visits), states_all(problem)
    share = STATED_SHARE if stated else next(share for most, share in START_SHARE if visits <= most)
    if visits <= LIBRARY_UP_TO and not stated:
        return _best([_by_library(judge, budget, share / len(judges)) for judge in judges], share)
    raced, left = _race(judges, seed, budget), share
    if raced and visits <= RACE_UP_TO:
        left = max(0.1, share - RACE_SHARE * len(raced))
    first = _best(raced, share) if raced else Starts(0, (), share)
    plan = _by_engine(judges[first.variant], seed, budget.phase(left))
    return replace(first, plans=tuple(sorted([plan, *first.plans], key=lambda s: s.price)))


def _race(judges: Sequence[Judge], seed: int, budget: Budget) -> list[list[State]]:
    """A plan of each choice of syrups, where there are several."""
    if len(judges) == 1:
        return []
    if len(judges[0].problem.visits) > RACE_UP_TO:
        return [[adopt(judge, ((),) * len(judge.problem.trucks))] for judge in judges]
    return [[_by_engine(judge, seed, budget.phase(RACE_SHARE))] for judge in judges]


def _best(found: list[list[State]], share: float) -> Starts:
    variant = min(range(len(found)), key=lambda i: found[i][0].price)
    return Starts(variant, tuple(found[variant]), share)


def _by_library(judge: Judge, budget: Budget, share: float) -> list[State]:
    """Plans of OR-Tools' routing library, cheapest first; by insertion where it has none."""
    from routing.planning.refine import Limit, library_plans

    seconds = None if budget.seconds is None else budget.seconds * share
    checks = None if budget.iterations is None else budget.steps(share, CHECKS_PER_ITERATION)
    empty: tuple[Stops, ...] = ((),) * len(judge.problem.trucks)
    return library_plans(judge, Limit(seconds, checks)) or [adopt(judge, empty)]


def _by_engine(judge: Judge, seed: int, progress: Callable[[], float]) -> State:
    """The best exact plan made from PyVRP's last few improvements."""
    from routing.planning.engine import find_routes

    # Putting thousands of visits under the exact rules takes seconds: once is enough there.
    kept: deque[tuple[Stops, ...]] = deque(maxlen=KEPT if len(judge.problem.visits) <= RACE_UP_TO else 1)
    last = find_routes(judge.problem, seed, lambda _: progress() >= 1.0, kept.append)
    kept.append(last)
    return min((adopt(judge, routes) for routes in dict.fromkeys(kept)), key=lambda s: s.price)
