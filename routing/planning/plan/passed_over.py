"""Say why a yard with little in store is left while one with plenty is fed."""

from __future__ import annotations

from collections.abc import Iterable
from re import fullmatch

from routing.domain.operation import Operation
from routing.domain.ration import YardNeed
from routing.need.urgency import chance_of_running_out
from routing.need.wording import days
from routing.planning.evaluate.state import INFEASIBLE, State
from routing.planning.problem.build import Day

LITTLE, PLENTY = 0.05, 0.01
"""A choice: chances of running out before the next visit that mean little in store, and plenty."""

ENDINGS = (
    r", since no truck can feed this one in its place"
    r"|, though feeding this one in its place looks better: search longer \(--seconds\)"
    r"|, since going here in its place would cost -?\d+( [A-Z]{3})? more"
)
"""How a comparison may end; its sum is what the search found."""

TRIED = 3
"""So many yards, those with the most in store first, are tried to be left in its stead."""


def passed_over(day: Day, need: YardNeed, visit: int, final: State) -> str:
    """Why yards with plenty are fed before this one, in words; nothing where none is or it has plenty too."""
    if _chance(day, need) < LITTLE or need.required:
        return ""
    richer = _fed_with_plenty(day, final)
    if not richer:
        return ""
    best, instead = min((_swapped(final, v, visit), v) for v in richer[:TRIED])
    other = day.pieces[instead][0]
    said = _fed_instead(day.operation, other)
    lost = day.problem.visits[instead].value - day.problem.visits[visit].value
    if best == INFEASIBLE:
        return f"{said}, since no truck can feed this one in its place"
    if best + lost < 0:
        return f"{said}, though feeding this one in its place looks better: search longer (--seconds)"
    more = f"{best:.0f} {day.operation.currency}".strip()
    return f"{said}, since going here in its place would cost {more} more"


def _fed_instead(operation: Operation, other: YardNeed) -> str:
    return f"{operation.yards[other.yard_id].name} with {days(other.days_of_stores)} of stores is fed"


def compares(operation: Operation, fed: Iterable[YardNeed], text: str) -> bool:
    """Whether a text says what ``passed_over`` may say, of one of the yards that are fed."""
    openings = [_fed_instead(operation, other) for other in fed if other.yard_id in operation.yards]
    return any(text.startswith(said) and fullmatch(ENDINGS, text[len(said) :]) for said in openings)


def _chance(day: Day, need: YardNeed) -> float:
    feeding = day.operation.feeding
    return chance_of_running_out(need.days_of_stores, feeding.next_visit_days, feeding.days_error)


def _fed_with_plenty(day: Day, final: State) -> list[int]:
    """Visits on a route that could have waited, those with the most in store first."""
    fed = [v for stops in final.routes for v in stops if v >= 0]
    free = [v for v in fed if not day.problem.visits[v].required and _chance(day, day.pieces[v][0]) < PLENTY]
    return sorted(free, key=lambda v: (-day.pieces[v][0].days_of_stores, v))


def _swapped(final: State, out: int, into: int) -> float:
    """What the routes cost more (less: below zero) with one visit taken out and another put in anywhere."""
    least = INFEASIBLE
    home = next(k for k, stops in enumerate(final.routes) if out in stops)
    without = tuple(s for s in final.routes[home] if s != out)
    saved = final.route_cost(home, final.routes[home]) - final.route_cost(home, without)
    for k in final.problem.eligible_trucks[into]:
        stops = without if k == home else final.routes[k]
        before = final.route_cost(k, stops)
        for at in range(len(stops) + 1):
            cost = final.route_cost(k, (*stops[:at], into, *stops[at:]))
            least = min(least, cost - before - saved)
    return least
