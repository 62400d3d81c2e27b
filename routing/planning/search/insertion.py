"""Put visits into routes where they cost least, under every rule of the exact timing."""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import pairwise

from routing.planning.evaluate.loads import Fault
from routing.planning.evaluate.state import INFEASIBLE, State
from routing.planning.problem.problem import Problem, Stops, TruckSpec, depot_stop

# A load fault may be cured by one more refill; a fault of time cannot.
CURED_BY_REFILL = frozenset(
    {Fault.TANK, Fault.SLOTS, Fault.WEIGHT, Fault.GATE_WEIGHT, Fault.SUPPLY, Fault.STOCK}
)
TRIES = 12
TRIES_WITHOUT_LUCK = 48
REFILL_TRIES = 3
REFILL_TRUCKS = 5
REFILL_ANYWAY = 0.1
BLINK = 0.05


@dataclass(frozen=True, slots=True, order=True)
class _Place:
    """A place in a route: what a visit there costs at a guess, and whether its load fits."""

    guess: float
    truck: int
    at: int
    fits: bool


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
    curable = dict.fromkeys(p.truck for p in places if not p.fits or not state.routes[p.truck])
    tried = 0
    for place in places:
        if place.guess >= best[0] or tried >= (TRIES if best[0] < INFEASIBLE else TRIES_WITHOUT_LUCK):
            break
        if not place.fits or (rng is not None and rng.random() < BLINK):
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
        if place.guess >= best[0]:
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
        found += _places_of(state, truck, visit)
    found.sort()
    return found


def _places_of(state: State, truck: int, visit: int) -> list[_Place]:
    """The places in one route, with what the visit would add there by way, wages and fuel."""
    problem, route = state.problem, state.routes[truck]
    spec, wanted, judged = problem.trucks[truck], problem.visits[visit], state.judge(truck, route)
    # What is aboard already needs no loading: its time is a guess, and no reason to rule a place out.
    stand_s = problem.service_s[truck][visit] + state.judge.least_loading_s[visit]
    spare_s = min(spec.max_s, spec.latest_s - spec.earliest_s) - judged.busy_s
    spare_s -= problem.service_s[truck][visit]
    # A truck in mid-day drives home also without a stop.
    under_way = bool(route) or judged.busy_s > 0
    room = state.judge.room(truck, route)
    metres, drive = problem.distance_rows[spec.matrix], problem.drive_rows[spec.matrix]
    here, mass_g, pails = wanted.place, state.judge.mass_g[visit], wanted.pail_count
    metres_on, drive_on = metres[here], drive[here]
    asked = [(free, ml) for free, ml in zip(room.bulk_ml, wanted.bulk_ml, strict=True) if ml]
    empty_m = spec.per_m + spec.fuel_price * spec.fuel_empty
    fuel_g_m = spec.fuel_price * spec.fuel_per_g
    fixed = 0.0 if under_way else spec.fixed
    ordinary_s = spec.ordinary_s - judged.work_s
    found = []
    for at, (a, b) in enumerate(_pairs(problem, spec, route)):
        to_m, to_s = metres[a][here], drive[a][here]
        longer_s, longer_m = to_s + drive_on[b], to_m + metres_on[b]
        if under_way:
            longer_s -= drive[a][b]
            longer_m -= metres[a][b]
        if longer_s > spare_s:
            continue
        fits = (
            room.rank_before[at] <= wanted.rank <= room.rank_after[at]
            and room.mass_g[at] + 1 >= mass_g
            and room.pails[at] >= pails
            and all(free[at] >= ml for free, ml in asked)
        )
        added_s = longer_s + stand_s
        overtime_s = max(0.0, added_s - max(0, ordinary_s)) if added_s > ordinary_s else 0.0
        guess = (
            longer_m * (empty_m + fuel_g_m * room.load_g[at])
            + (room.hauled_m[at] + to_m) * mass_g * fuel_g_m
            + added_s * spec.per_s
            + overtime_s * spec.overtime_per_s
            + fixed
        )
        found.append(_Place(guess, truck, at, fits))
    return found


def _pairs(problem: Problem, spec: TruckSpec, route: Stops) -> list[tuple[int, int]]:
    """The places that a route's legs lead from and to."""
    places = [problem.depots[spec.start].place]
    places += [problem.visits[s].place if s >= 0 else problem.depots[-1 - s].place for s in route]
    places.append(problem.depots[spec.end].place)
    return list(pairwise(places))
