"""Find routes with OR-Tools' routing library: guided local search from nothing or from given routes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import count

from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from routing.planning.engines.ortools_model import RoutingModel
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Problem, Stops
from routing.planning.search.search import adopt

# The library's price and ours differ (fuel by load, filling by amount, breaks): a dearer plan of its may be
# the cheaper one in truth, so a good many are asked.
KEPT = 40
# Where checks are counted: the library warns of searches without any limit that it knows.
LONGEST_S = 3600.0


@dataclass(frozen=True)
class Limit:
    """How long to search: seconds, or how often the library may ask whether to go on; at least one.

    A count of solutions would not do: on a day of one visit no second one is ever met.
    """

    seconds: float | None = None
    checks: int | None = None


def library_plans(
    judge: Judge, limit: Limit, start: Sequence[Stops] | None = None, kept: int = KEPT
) -> list[State]:
    """The library's last improvements put under the exact rules, cheapest first; empty where it had none.

    It takes no seed. With a limit by checks alone it always finds the same.
    """
    return exact_plans(judge, library_routes(judge.problem, limit, start), kept)


def exact_plans(judge: Judge, routes: Sequence[tuple[Stops, ...]], kept: int = KEPT) -> list[State]:
    """The last of the library's improvements put under the exact rules, cheapest first."""
    plans = [adopt(judge, found) for found in dict.fromkeys(routes[-kept:])]
    return sorted(plans, key=lambda plan: plan.price)


def library_routes(
    problem: Problem,
    limit: Limit,
    start: Sequence[Stops] | None = None,
    told: Callable[[tuple[Stops, ...]], None] = lambda _: None,
) -> list[tuple[Stops, ...]]:
    """Every improvement on the way, in order, each ``told`` as it is found."""
    model = RoutingModel(problem)
    routing = model.routing
    improved: list[tuple[Stops, ...]] = []
    best = float("inf")

    def note() -> None:
        nonlocal best
        cost = routing.CostVar().Max()
        if cost < best:
            best = cost
            improved.append(model.routes(lambda index: routing.NextVar(index).Value()))
            told(improved[-1])

    routing.AddAtSolutionCallback(note)
    parameters = _parameters(limit)
    routing.CloseModelWithParameters(parameters)
    if limit.checks is not None:
        left = count(limit.checks, -1)
        routing.AddSearchMonitor(routing.solver().CustomLimit(lambda: next(left) <= 0))
    if start is None:
        routing.SolveWithParameters(parameters)
        return improved
    indices = model.indices(tuple(start))
    assignment = None if indices is None else routing.ReadAssignmentFromRoutes(indices, True)
    if assignment is not None:
        routing.SolveFromAssignmentWithParameters(assignment, parameters)
    return improved


def _parameters(limit: Limit) -> pywrapcp.DefaultRoutingSearchParameters:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    parameters.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    seconds = LONGEST_S if limit.seconds is None else max(0.05, limit.seconds)
    parameters.time_limit.FromTimedelta(timedelta(seconds=seconds))
    return parameters
