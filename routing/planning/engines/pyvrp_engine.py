"""Find routes with PyVRP, through its iterated local search."""

from __future__ import annotations

import logging
from collections.abc import Callable
from importlib.metadata import version
from statistics import fmean
from typing import Any

import pyvrp
from pyvrp.PenaltyManager import PenaltyManager, PenaltyParams
from pyvrp.search import (
    NODE_OPERATORS,
    ROUTE_OPERATORS,
    LocalSearch,
    NeighbourhoodParams,
    PerturbationManager,
    compute_neighbours,
)

from routing.planning.engines.pyvrp_model import Model, Routes
from routing.planning.problem.problem import Problem

# Importing the engine attaches a handler that prints; a library must leave the user's terminal alone.
logging.getLogger("pyvrp").handlers.clear()

NAME = "PyVRP"
VERSION = version("pyvrp")
# Twenty neighbours did better than the default at 120 yards (docs/decisions/engines.md).
NEIGHBOURS = 20
# Days of feeding are tight in hours and weight and iterations are few: the price of breaking a limit must
# find its level within seconds (default: an update every 500 solutions).
SOLUTIONS_BETWEEN_UPDATES = 50
# No ceiling that is ever met: at 1e7 fleets of few small units were never loaded within their limits.
MAX_PENALTY = 1e9


def find_routes(
    problem: Problem,
    seed: int,
    stop: Callable[[float], bool],
    on_best: Callable[[Routes], None],
) -> Routes:
    """Search until ``stop`` says so, telling each better feasible set of routes; the best at the end.

    Where every visit is required they are stated so; the search then may end without a feasible
    answer, in which case ``on_best`` was never called.
    """
    model = Model(problem, required=all(v.required for v in problem.visits))
    rng = pyvrp.RandomNumberGenerator(seed=seed)
    neighbours = compute_neighbours(model.data, NeighbourhoodParams(num_neighbours=NEIGHBOURS))
    search = LocalSearch(model.data, rng, neighbours, PerturbationManager())
    for operator in NODE_OPERATORS:
        if operator.supports(model.data):
            search.add_node_operator(operator(model.data))
    for operator in ROUTE_OPERATORS:
        if operator.supports(model.data):
            search.add_route_operator(operator(model.data))
    penalties = _penalties(model)
    watched = _Watched(search, lambda solution: on_best(model.routes(solution)))
    first = _start(model, watched, penalties.max_cost_evaluator(), rng)
    result = pyvrp.IteratedLocalSearch(model.data, penalties, rng, watched, first).run(
        stop, collect_stats=False
    )
    return model.routes(result.best)


def _start(model: Model, search: _Watched, evaluator: Any, rng: Any) -> Any:
    """The engine's usual random start, improved; or from no visit at all where leaving all is cheaper."""
    first = search(pyvrp.Solution.make_random(model.data, rng), evaluator, exhaustive=True)
    nothing = pyvrp.Solution(model.data, [])
    if model.required or evaluator.penalised_cost(first) <= evaluator.penalised_cost(nothing):
        return first
    return search(nothing, evaluator, exhaustive=True)


class _Watched:
    """A local search that tells of every better feasible solution as it appears."""

    def __init__(self, search: Any, tell: Callable[[Any], None]) -> None:
        self.search, self.tell = search, tell
        self.best: float = float("inf")

    def __call__(self, solution: Any, evaluator: Any, *, exhaustive: bool) -> Any:
        found = self.search(solution, evaluator, exhaustive=exhaustive)
        if found.is_feasible():
            cost = evaluator.penalised_cost(found)
            if cost < self.best:
                self.best = cost
                self.tell(found)
        return found


def _penalties(model: Model) -> PenaltyManager:
    """Prices of broken limits, at first high enough that breaking one never pays for a visit's value."""
    params = PenaltyParams(solutions_between_updates=SOLUTIONS_BETWEEN_UPDATES, max_penalty=MAX_PENALTY)
    loads, late, far = PenaltyManager.init_from(model.data, params).penalties()
    clients = model.data.clients()
    value = fmean(v.value for v in model.problem.visits) / model.problem.money_step
    service = fmean(client.service_duration for client in clients)
    for d in range(len(loads)):
        asked = [client.delivery[d] for client in clients if client.delivery[d]]
        if asked:
            loads[d] = max(loads[d], value / fmean(asked))
    return PenaltyManager((loads, max(late, value / max(1.0, service)), far), params)
