"""Put visits into routes where they cost least, under every rule of the exact timing."""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import pairwise

from routing.planning.loads import Fault
from routing.planning.problem import Stops, depot_stop
from routing.planning.state import INFEASIBLE, State

# A load fault may be cured by one more refill; a fault of time cannot.
CURED_BY_REFILL = frozenset(
    {Fault.TANK, Fault.SLOTS, Fault.WEIGHT, Fault.GATE_WEIGHT, Fault.SUPPLY, Fault.STOCK}
)
TRIES = 12
TRIES_WITHOUT_LUCK = 48
REFILL_TRIES = 3
REFILL_TRUCKS = 5
REFILL_ANYWAY = 0.1
BLINK = 0.02


@dataclass(frozen=True, slots=True, order=True)
class _Place:
    """A place in a route: what a visit there costs at a guess, and of that the detour alone."""

    guess: float
    detour: float
    truck: int
    at: int


def insert_all(state: State, order: list[int], rng: random.Random | None = None) -> None:
    """Insert visits in order, each where it costs least.

    Those that fit nowhere, or cost more than they are worth, stay out. With ``rng``, places are now and
    then overlooked (blinks), to vary the outcome.
    """
    for visit in order:
        cost, truck, stops = _cheapest(state, visit, rng)
        spec = state.problem.visits[visit]
        if cost < INFEASIBLE and (spec.required or cost <= spec.value):
            state.put(truck, stops)


def _cheapest(state: State, visit: int, rng: random.Random | None) -> tuple[float, int, Stops]:
    """The cheapest place found in all routes: what it adds, the truck, and its route with the visit."""
    best: tuple[float, int, Stops] = (INFEASIBLE, -1, ())
    places = _places(state, visit)
    curable = dict.fromkeys(p.truck for p in places if not state.routes[p.truck])
    tried = 0
    for place in places:
        if place.guess >= best[0] or tried >= (TRIES if best[0] < INFEASIBLE else TRIES_WITHOUT_LUCK):
            break
        if rng is not None and rng.random() < BLINK:
            continue
        route = state.routes[place.truck]
        stops = (*route[: place.at], visit, *route[place.at :])
        added = state.route_cost(place.truck, stops) - state.judge(place.truck, route).cost
        tried += 1
        if added < best[0]:
            best = (added, place.truck, stops)
        elif added == INFEASIBLE and _curable(state, place.truck, stops):
            curable[place.truck] = None
    if curable and (best[0] == INFEASIBLE or (rng is not None and rng.random() < REFILL_ANYWAY)):
        for truck in list(curable)[:REFILL_TRUCKS]:
            best = _with_refill(state, visit, best, [p for p in places if p.truck == truck][:REFILL_TRIES])
    return best


def _curable(state: State, truck: int, stops: Stops) -> bool:
    """Whether one refill more may mend a route. A route without fault of its own wants stock."""
    return (state.judge(truck, stops).fault or Fault.STOCK) in CURED_BY_REFILL


def _with_refill(
    state: State, visit: int, best: tuple[float, int, Stops], places: list[_Place]
) -> tuple[float, int, Stops]:
    """Try the visit at some places of a route with a refill just before or after it."""
    for place in places:
        if place.detour >= best[0]:
            break
        truck, at, route = place.truck, place.at, state.routes[place.truck]
        base = state.judge(truck, route).cost
        for depot in state.problem.trucks[truck].refill_depots:
            call = depot_stop(depot)
            for piece in ((call, visit), (visit, call)):
                stops = (*route[:at], *piece, *route[at:])
                added = state.route_cost(truck, stops) - base
                if added < best[0]:
                    best = (added, truck, stops)
    return best


def _places(state: State, visit: int) -> list[_Place]:
    """The places that the trucks' hours may allow, cheapest guess first; of idle twins only one."""
    found: list[_Place] = []
    idle: set[int] = set()
    for truck in state.problem.eligible_trucks[visit]:
        if not state.routes[truck]:
            twin = state.problem.twins[truck]
            if twin in idle:
                continue
            idle.add(twin)
        found += _detours(state, truck, visit)
    found.sort()
    return found


def _detours(state: State, truck: int, visit: int) -> list[_Place]:
    """The places in one route, guessed by detour and wages."""
    problem, route = state.problem, state.routes[truck]
    spec = problem.trucks[truck]
    metres, drive = problem.distance_rows[spec.matrix], problem.drive_rows[spec.matrix]
    per_m, per_s = problem.mean_per_m_of[truck], spec.per_s
    service_s = problem.service_s[truck][visit]
    longest_s = min(spec.max_s, spec.latest_s - spec.earliest_s)
    spare_s = longest_s - state.judge(truck, route).busy_s - service_s
    if spare_s < 0:
        return []
    here = problem.visits[visit].place
    places = [problem.depots[spec.start].place]
    places += [problem.visits[s].place if s >= 0 else problem.depots[-1 - s].place for s in route]
    places.append(problem.depots[spec.end].place)
    metres_on, drive_on = metres[here], drive[here]
    found = []
    fixed = 0.0 if route else spec.fixed
    for i, (a, b) in enumerate(pairwise(places)):
        longer_s, longer_m = drive[a][here] + drive_on[b], metres[a][here] + metres_on[b]
        if route:
            longer_s -= drive[a][b]
            longer_m -= metres[a][b]
        if longer_s <= spare_s:
            detour = longer_m * per_m + fixed
            found.append(_Place(detour + (longer_s + service_s) * per_s, detour, truck, i))
    return found
