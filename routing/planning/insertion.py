"""Put visits into routes where they cost least, under every rule of the exact timing."""

from __future__ import annotations

import random
from itertools import pairwise

from routing.planning.loads import Fault
from routing.planning.problem import Problem, Stops, depot_stop
from routing.planning.state import INFEASIBLE, State

# A load fault may be cured by one more refill; a fault of time cannot.
CURED_BY_REFILL = frozenset({Fault.TANK, Fault.SLOTS, Fault.WEIGHT, Fault.GATE_WEIGHT, Fault.SUPPLY})
TRIES = 6
REFILL_TRIES = 4
BLINK = 0.02


def insert_all(state: State, order: list[int], rng: random.Random | None = None) -> None:
    """Insert visits in order, each at its cheapest place; those that fit nowhere, or cost more than they
    are worth, stay out. With ``rng``, places are now and then overlooked (blinks), to vary the outcome.
    """
    for visit in order:
        best_cost, best = INFEASIBLE, None
        for truck in _trucks(state.problem, visit):
            delta, stops = _cheapest(state, truck, visit, best_cost, rng)
            if delta < best_cost:
                best_cost, best = delta, (truck, stops)
        spec = state.problem.visits[visit]
        if best is not None and (spec.required or best_cost <= spec.value):
            state.put(*best)


def _trucks(problem: Problem, visit: int) -> tuple[int, ...]:
    return problem.eligible_trucks[visit]


def _cheapest(
    state: State, truck: int, visit: int, limit: float, rng: random.Random | None
) -> tuple[float, Stops]:
    """The cheapest place in one route: what it adds, and the route with it."""
    route = state.routes[truck]
    base = state.judge(truck, route).cost
    best, found = limit, route
    faults: set[Fault | None] = set()
    tried = 0
    for detour, at in _by_detour(state.problem, truck, route, visit):
        if detour >= best or tried >= TRIES:
            break
        if rng is not None and rng.random() < BLINK:
            continue
        stops = (*route[:at], visit, *route[at:])
        added = state.route_cost(truck, stops) - base
        if added == INFEASIBLE:
            fault = state.judge(truck, stops).fault
            faults.add(fault or Fault.STOCK)
            tried += fault not in CURED_BY_REFILL
        else:
            tried += 1
        if added < best:
            best, found = added, stops
    if not route or faults & CURED_BY_REFILL or Fault.STOCK in faults:
        best, found = _with_refill(state, truck, visit, best, found)
    return best, found


def _with_refill(state: State, truck: int, visit: int, best: float, found: Stops) -> tuple[float, Stops]:
    """Try the visit with a refill just before or after it, or before any later visit of its trip."""
    route = state.routes[truck]
    base = state.judge(truck, route).cost
    for detour, at in _by_detour(state.problem, truck, route, visit)[: REFILL_TRIES * 2]:
        if detour >= best:
            break
        for depot in state.problem.trucks[truck].refill_depots:
            call = depot_stop(depot)
            for piece in ((call, visit), (visit, call)):
                stops = (*route[:at], *piece, *route[at:])
                added = state.route_cost(truck, stops) - base
                if added < best:
                    best, found = added, stops
    return best, found


def _by_detour(problem: Problem, truck: int, route: Stops, visit: int) -> list[tuple[float, int]]:
    """Every place in a route with the money its detour costs, cheapest first."""
    spec = problem.trucks[truck]
    metres = problem.distance_rows[spec.matrix]
    per_m = problem.mean_per_m_of[truck]
    here = problem.visits[visit].place
    places = [problem.depots[spec.start].place]
    places += [problem.visits[s].place if s >= 0 else problem.depots[-1 - s].place for s in route]
    places.append(problem.depots[spec.end].place)
    row = metres[here]
    if not route:
        return [((metres[places[0]][here] + row[places[1]]) * per_m, 0)]
    found = [
        ((metres[a][here] + row[b] - metres[a][b]) * per_m, i) for i, (a, b) in enumerate(pairwise(places))
    ]
    found.sort()
    return found
