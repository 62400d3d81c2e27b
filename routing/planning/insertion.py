"""Put visits into routes where they cost least, under every rule of the exact timing."""

from __future__ import annotations

import random
from itertools import pairwise

from routing.planning.loads import Fault
from routing.planning.problem import Stops, depot_stop
from routing.planning.state import INFEASIBLE, State

# A load fault may be cured by one more refill; a fault of time cannot.
CURED_BY_REFILL = frozenset({Fault.TANK, Fault.SLOTS, Fault.WEIGHT, Fault.GATE_WEIGHT, Fault.SUPPLY})
TRIES = 6
REFILL_TRIES = 3
REFILL_ANYWAY = 0.1
BLINK = 0.02


def insert_all(state: State, order: list[int], rng: random.Random | None = None) -> None:
    """Insert visits in order, each at its cheapest place; those that fit nowhere, or cost more than they
    are worth, stay out. With ``rng``, places are now and then overlooked (blinks), to vary the outcome.
    """
    for visit in order:
        best_cost, best = INFEASIBLE, None
        idle: set[int] = set()
        for truck in state.problem.eligible_trucks[visit]:
            if not state.routes[truck]:
                twin = state.problem.twins[truck]
                if twin in idle:
                    continue
                idle.add(twin)
            delta, stops = _cheapest(state, truck, visit, best_cost, rng)
            if delta < best_cost:
                best_cost, best = delta, (truck, stops)
        spec = state.problem.visits[visit]
        if best is not None and (spec.required or best_cost <= spec.value):
            state.put(*best)


def _cheapest(
    state: State, truck: int, visit: int, limit: float, rng: random.Random | None
) -> tuple[float, Stops]:
    """The cheapest place in one route: what it adds, and the route with it."""
    route = state.routes[truck]
    base = state.judge(truck, route).cost
    best, found = limit, route
    curable = not route
    tried = 0
    detours = _detours(state, truck, visit)
    for detour, at in detours:
        if detour >= best or tried >= TRIES:
            break
        if rng is not None and rng.random() < BLINK:
            continue
        stops = (*route[:at], visit, *route[at:])
        added = state.route_cost(truck, stops) - base
        if added == INFEASIBLE:
            fault = state.judge(truck, stops).fault or Fault.STOCK
            curable |= fault in CURED_BY_REFILL
            tried += fault not in CURED_BY_REFILL
        else:
            tried += 1
        if added < best:
            best, found = added, stops
    if curable and (best == limit or (rng is not None and rng.random() < REFILL_ANYWAY)):
        best, found = _with_refill(state, truck, visit, best, found, detours[:REFILL_TRIES])
    return best, found


def _with_refill(
    state: State, truck: int, visit: int, best: float, found: Stops, detours: list[tuple[float, int]]
) -> tuple[float, Stops]:
    """Try the visit at its nearest places with a refill just before or after it."""
    route = state.routes[truck]
    base = state.judge(truck, route).cost
    for detour, at in detours:
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


def _detours(state: State, truck: int, visit: int) -> list[tuple[float, int]]:
    """The places in a route that its hours may allow, with the money their detour costs, cheapest first."""
    problem, route = state.problem, state.routes[truck]
    spec = problem.trucks[truck]
    metres, drive = problem.distance_rows[spec.matrix], problem.drive_rows[spec.matrix]
    per_m = problem.mean_per_m_of[truck]
    spare_s = min(spec.max_s, spec.latest_s - spec.earliest_s) - state.judge(truck, route).busy_s - problem.service_s[truck][visit]
    here = problem.visits[visit].place
    places = [problem.depots[spec.start].place]
    places += [problem.visits[s].place if s >= 0 else problem.depots[-1 - s].place for s in route]
    places.append(problem.depots[spec.end].place)
    from_here, drive_on = metres[here], drive[here]
    found = []
    for i, (a, b) in enumerate(pairwise(places)):
        shortcut_s, shortcut_m = (drive[a][b], metres[a][b]) if route else (0, 0)
        if drive[a][here] + drive_on[b] - shortcut_s <= spare_s:
            found.append(((metres[a][here] + from_here[b] - shortcut_m) * per_m, i))
    found.sort()
    return found
