"""Price leaving a yard unfed: dearer, the surer its colonies run out before they can be fed next."""

from __future__ import annotations

from math import exp, log

from routing.domain.operation import Operation
from routing.domain.places import Priority

NINE_OF_TEN = log(19.0)
"""Log-odds of 95 %: nine of ten lie within the factor ``exp(NINE_OF_TEN / shape)`` of the middle."""

MOST_LOG_ODDS = 700.0
"""The exponential of more is no float; the chance is nought long before."""


def chance_of_running_out(days_of_stores: float, next_fed_days: float, days_error: float) -> float:
    """Chance that stores judged to last ``days_of_stores`` are gone before the yard can be fed next.

    The true days are taken to be log-logistic around those judged,
    ``1 / (1 + (days_of_stores / next_fed_days) ** shape)`` with ``shape = ln 19 / ln days_error``, so that
    nine of ten lie within the factor ``days_error``: one half where the stores end on the day of the next
    visit, rising smoothly below and falling above. Estimate: nobody has published how far days of stores
    are off.

    Parameters
    ----------
    days_of_stores : days judged, 0 or more
    next_fed_days : days to the earliest next visit, 0 or more; 0: never runs out before it
    days_error : factor above 1

    References: the log-logistic distribution, e.g. D.R. Cox and D. Oakes, Analysis of Survival Data (1984),
    chapter 2 (from memory).
    """
    if next_fed_days <= 0:
        return 0.0
    if days_of_stores <= 0:
        return 1.0
    shape = NINE_OF_TEN / log(days_error)
    against = shape * log(days_of_stores / next_fed_days)
    return 1.0 / (1.0 + exp(min(against, MOST_LOG_ODDS)))


def unfed_value_per_colony(operation: Operation, yard_id: str, days_of_stores: float) -> float:
    """What leaving a colony of a yard unfed is worth avoiding, in the operation's currency.

    ``(drop_value_per_colony + loss_per_colony x chance of running out) x weight of the yard's priority``.
    """
    cost, feeding = operation.cost, operation.feeding
    chance = chance_of_running_out(days_of_stores, feeding.next_visit_days, feeding.days_error)
    weight = {Priority.NORMAL: 1.0, Priority.LOW: cost.priority_low}.get(
        operation.yards[yard_id].priority, cost.priority_high
    )
    return (cost.drop_value_per_colony + cost.loss_per_colony * chance) * weight
