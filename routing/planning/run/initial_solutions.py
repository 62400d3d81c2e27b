"""Find plans for the exact search to start from, and which choice of syrups in the tanks to carry on with."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from routing.planning.engines.pyvrp_fit import states_all
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Solution, Stops
from routing.planning.search.backend import select
from routing.planning.search.budget import Budget
from routing.planning.search.search import adopt, improve

# Days of up to so many visits start from OR-Tools' routing library, larger ones from PyVRP; where PyVRP can
# state all of a problem the exact search gains next to nothing (docs/decisions/engines.md).
LIBRARY_UP_TO = 60
START_SHARE = ((60, 0.1), (150, 0.5), (10**9, 0.7))
STATED_SHARE = 0.9
# The compiled search needs no engine: it lets the choices of syrups race, each from a day made by insertion.
SEARCH_RACE_SHARE = 0.25
STEPS_PER_ITERATION = 0.05
# Choices of syrups race in the engine where its first local search fits the time; larger days by insertion.
RACE_UP_TO = 150
RACE_SHARE = 0.08
CHECKS_PER_ITERATION = 1000.0
KEPT = 4

Tell = Callable[[int, Solution, float], None]


@dataclass(frozen=True)
class Starts:
    """The best plan of one choice of syrups, and the share of the time that it took to find."""

    variant: int
    best: State
    share: float


def as_told(judges: Sequence[Judge]) -> Starts:
    """Going on as the drivers were told, under the choice of syrups in the tanks that makes it cheapest.

    The engines know nothing of what was told and begin from nothing: in the seconds of a re-plan the exact
    search finds better days from what was told.
    """
    return _best([adopt(judge, judge.problem.habit.routes) for judge in judges if judge.problem.habit], 0.0)


def find_starts(
    judges: Sequence[Judge],
    seed: int,
    budget: Budget,
    most: float = 1.0,
    number: int = 0,
    tell: Tell = lambda _variant, _solution, _price: None,
) -> Starts:
    """A first plan: every choice of syrups is tried for a short while, the best one is gone on with.

    ``most`` is the share of the time that there is besides the bound's, ``number`` tells workers apart: where
    the engine can state all of a day some ask it, and some search, since neither is always the better.
    ``tell`` hears of each better plan of a choice in the meantime.
    """
    problem = judges[0].problem
    visits, stated = len(problem.visits), states_all(problem)
    if select().compiled and (not stated or number % 2):
        return _by_search(judges, seed, budget, most, tell)
    share = STATED_SHARE if stated else next(share for up_to, share in START_SHARE if visits <= up_to)
    share *= most
    if visits <= LIBRARY_UP_TO and not stated:
        return _best([_by_library(judge, budget, share / len(judges)) for judge in judges], share)
    if len(judges) == 1:
        return Starts(0, _by_engine(judges[0], seed, budget.phase(share)), share)
    if visits > RACE_UP_TO:
        first, raced = _best([_by_insertion(j) for j in judges], share), 0.0
    else:
        raced = min(RACE_SHARE * most, share / (len(judges) + 1))
        first = _best([_by_engine(judge, seed, budget.phase(raced)) for judge in judges], share)
    plan = _by_engine(judges[first.variant], seed, budget.phase(share - raced * len(judges)))
    return first if first.best.price <= plan.price else replace(first, best=plan)


def _best(found: list[State], share: float) -> Starts:
    variant = min(range(len(found)), key=lambda i: found[i].price)
    return Starts(variant, found[variant], share)


def _by_search(judges: Sequence[Judge], seed: int, budget: Budget, most: float, tell: Tell) -> Starts:
    """The choice of syrups for which a short search finds the best plan."""
    if len(judges) == 1:
        return Starts(0, _by_insertion(judges[0]), 0.0)
    share = SEARCH_RACE_SHARE * most / len(judges)
    rate = STEPS_PER_ITERATION * select().speed
    found = [
        improve(_by_insertion(judge), seed, budget.phase(share, rate), partial(tell, variant))
        for variant, judge in enumerate(judges)
    ]
    return _best(found, share * len(judges))


def _by_insertion(judge: Judge) -> State:
    return adopt(judge, ((),) * len(judge.problem.trucks))


def _by_library(judge: Judge, budget: Budget, share: float) -> State:
    """The best plan of OR-Tools' routing library; by insertion where it has none."""
    from routing.planning.engines.ortools_routing import Limit, library_plans

    seconds = None if budget.seconds is None else budget.seconds * share
    checks = None if budget.iterations is None else budget.steps(share, CHECKS_PER_ITERATION)
    plans = library_plans(judge, Limit(seconds, checks))
    return plans[0] if plans else _by_insertion(judge)


def _by_engine(judge: Judge, seed: int, progress: Callable[[], float]) -> State:
    """The best exact plan made from PyVRP's last few improvements."""
    from routing.planning.engines.pyvrp_engine import find_routes

    # Putting thousands of visits under the exact rules takes seconds: once is enough there.
    kept: deque[tuple[Stops, ...]] = deque(maxlen=KEPT if len(judge.problem.visits) <= RACE_UP_TO else 1)
    last = find_routes(judge.problem, seed, lambda _: progress() >= 1.0, kept.append)
    kept.append(last)
    return min((adopt(judge, routes) for routes in dict.fromkeys(kept)), key=lambda s: s.price)
