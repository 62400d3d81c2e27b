"""Tell whether the routing engine can state all of a problem, so that its routes need no exact search."""

from __future__ import annotations

from routing.planning.problem.problem import DepotSpec, Problem, TruckSpec, Visit

LIMIT_S = 10**8
"""More seconds than any day has: a limit from here on binds nothing."""


def states_all(problem: Problem) -> bool:
    """Whether costs and rules are the engine's own to the last: nothing is left that it approximates.

    It knows no filling by amount, fuel by load, breaks, driving hours, stock, weak bridges, balance or
    habit. Where none of them binds an exact search after it gains next to nothing: the time is better
    spent in the engine (docs/decisions/engines.md).
    """
    return (
        problem.habit is None
        and not problem.balance_per_s
        and len({v.rank for v in problem.visits}) <= 1
        and all(map(_plain_visit, problem.visits))
        and all(map(_plain_truck, problem.trucks))
        and all(_plain_depot(depot) for depot in problem.depots)
        and len(set(problem.service_s)) <= 1
    )


def _plain_visit(visit: Visit) -> bool:
    return visit.max_gross_g is None and not visit.pail_count


def _plain_truck(truck: TruckSpec) -> bool:
    by_load = truck.fuel_price * (truck.fuel_per_g or truck.idle_l_per_s)
    under_way = truck.on_the_clock or any(truck.level_ml)
    return not (by_load or truck.break_s or under_way) and truck.driving_s >= min(LIMIT_S, truck.max_s)


def _plain_depot(depot: DepotSpec) -> bool:
    supplies = [supply for supply in depot.supplies if supply is not None]
    return not depot.leave_by and all(
        supply.stock_ml is None and supply.rate_ml_s == float("inf") and supply.from_s <= 0
        for supply in supplies
    )
