"""Plan a day with OR-Tools' routing library, from nothing or from given routes."""

from __future__ import annotations

import time
from collections import deque
from datetime import timedelta

from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from benchmarks.contestants.ortools_model import RoutingModel
from routing.planning.problem import Problem, Stops
from routing.planning.search import adopt
from routing.planning.state import Judge, State

KEPT = 4


def plan(problem: Problem, seconds: float, start: tuple[Stops, ...] | None = None) -> State | None:
    """The best exact plan made of the library's last few improvements; None where it found nothing.

    Building the model counts. The library takes no seed: its searches differ by the clock alone.
    """
    began = time.monotonic()
    model = RoutingModel(problem)
    routing = model.routing
    kept: deque[tuple[Stops, ...]] = deque(maxlen=KEPT)
    best = [float("inf")]

    def note() -> None:
        cost = routing.CostVar().Max()
        if cost < best[0]:
            best[0] = cost
            kept.append(model.routes(lambda index: routing.NextVar(index).Value()))

    routing.AddAtSolutionCallback(note)
    parameters = _parameters(max(0.1, seconds - (time.monotonic() - began)))
    routing.CloseModelWithParameters(parameters)
    if start is None:
        routing.SolveWithParameters(parameters)
    else:
        indices = model.indices(start)
        assignment = None if indices is None else routing.ReadAssignmentFromRoutes(indices, True)
        if assignment is None:
            return None
        routing.SolveFromAssignmentWithParameters(assignment, parameters)
    judge = Judge(problem)
    return min((adopt(judge, routes) for routes in kept), key=lambda s: s.price, default=None)


def _parameters(seconds: float) -> pywrapcp.DefaultRoutingSearchParameters:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    parameters.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    parameters.time_limit.FromTimedelta(timedelta(seconds=seconds))
    return parameters
