"""Tell how good a plan can be at most: small days are proved, larger ones bounded from below."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import inf

from routing.planning.machine_code.code_folder import ready
from routing.planning.problem.problem import Problem, Solution, Visit

SMALL = 12
# Shares of the last worker's time for bounding the day, by visits. Small days are found at once and take long
# to prove; up to sixty the search has found its best in a few seconds, and the bound still rises.
SHARES = ((SMALL, 0.7), (60, 0.5), (10**9, 0.25))
SHARE_ALONE = 0.15
# Stating hundreds of visits for the bound takes long: with fewer seconds a visit than this none is given.
LARGE = 400
STATING_S = 0.05
LISTED = "every round judged exactly"
COLUMNS = "column generation over rounds"
# Steps that each takes where an iteration is what is counted.
STEPS_OF_A_PROOF = 20.0
STEPS_OF_COLUMNS = 0.2


def share_of_time(visits: int, seconds: float | None, alone: bool) -> float:
    """The share of its time that the last worker keeps for the bound; ``alone``: it is the only one."""
    if visits > LARGE and seconds is not None and seconds < visits * STATING_S:
        return 0.0
    if alone and visits > SMALL:
        return SHARE_ALONE
    return next(share for up_to, share in SHARES if visits <= up_to)


Tell = Callable[[float, Solution | None, str], None]


def bound_day(
    problems: Sequence[Problem],
    visits: tuple[Visit, ...],
    known: Solution,
    price: float,
    phase: Callable[[float, float], Callable[[], float]],
    tell: Tell,
) -> None:
    """Bound every plan of a day that several problems allow together (``build.envelope``).

    ``price`` is that of the plan ``known``, whose yards are cut into ``visits``; where they are cut otherwise
    it says nothing, and a plan found there is not told. ``phase`` gives the progress of a share of the time,
    with the steps that come to an iteration. ``tell`` hears of each better bound with how it was found, and
    of the plan of a proof where there is one.
    """
    from routing.planning.bound.lower_bound import lower_bound
    from routing.planning.exact.proof import prove

    bounds = [-inf] * len(problems)
    for i, problem in enumerate(problems):

        def note(value: float, plan: Solution | None, method: str, i: int = i) -> None:
            bounds[i] = max(bounds[i], value)
            plan = plan if problems[i].visits == visits else None
            if min(bounds) > -inf or plan is not None:
                tell(min(bounds), plan, method)

        share = 1.0 / len(problems)
        if len(problem.visits) <= SMALL:
            start = known if problem.visits == visits else None
            prove(problem, start, phase(share, STEPS_OF_A_PROOF), partial(note, method=LISTED))
        if bounds[i] == -inf:
            progress = phase(share, STEPS_OF_COLUMNS)
            start = known if problem.visits == visits else None
            lower_bound(problem, price, progress, partial(note, plan=None, method=COLUMNS), start, ready())
