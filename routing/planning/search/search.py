"""Improve a day under its exact rules: ruin a neighbourhood, rebuild it, keep what is cheaper.

Slack induction by string removals (J. Christiaens & G. Vanden Berghe, Transportation Science 54(2):417,
2020), with simulated annealing, judged by the exact timing of every route, so that what the routing engine
cannot state (filling by amount, breaks, stock, driving hours, fuel by load, balance) is kept to the second.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from itertools import islice

from routing.planning.evaluate.loads import Fault
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.problem.problem import Problem, Solution, Stops, depot_stop
from routing.planning.search.insertion import insert_all

SPEED = 1.0
troubles: list[str] = []
MEAN_REMOVED = 8
LONGEST_STRING = 10
START_HEAT = 0.03
REST_HEAT = 0.01
"""A re-plan begins from a plan that was good this morning: less heat at first."""

END_HEAT = 0.0001
AROUND_LEFT = 0.5
LEFT_TRIED = 4


Insert = Callable[[State, list[int]], State]


def adopt(judge: Judge, routes: tuple[Stops, ...], insert: Insert | None = None) -> State:
    """Take over routes that may break exact rules: drop what offends, put back what fits (by ``insert``)."""
    state = State(judge)
    habit = judge.problem.habit
    for truck, stops in enumerate(habit.led(routes) if habit else routes):
        kept = _first_call(state, truck, tidy_route(state, truck, stops))
        while state.route_cost(truck, kept) == INFEASIBLE:
            kept = tidy_route(state, truck, _drop_one(state, truck, kept))
        state.put(truck, kept)
    order = _order(judge.problem, state.unserved, None)
    if insert is not None:
        return insert(state, order)
    insert_all(state, order)
    return state


def _first_call(state: State, truck: int, stops: Stops) -> Stops:
    """The route of an empty truck whose start cannot fill it, with a call before all else where one can."""
    spec = state.problem.trucks[truck]
    if any(spec.level_ml) or state.judge(truck, stops).fault is not Fault.SUPPLY:
        return stops
    calls = [(depot_stop(d), *stops) for d in spec.refill_depots]
    served = [route for route in calls if state.judge(truck, route).fault is not Fault.SUPPLY]
    return min(served, key=lambda route: state.route_cost(truck, route), default=stops)


def afresh(judge: Judge, seed: int) -> State:
    """A day built by insertion in a chance order: a start unlike any other."""
    state, rng = State(judge), random.Random(seed)
    insert_all(state, chance_order(judge.problem, rng), rng)
    return state


def chance_order(problem: Problem, rng: random.Random) -> list[int]:
    """All visits in a chance order, those first that must be served."""
    order = list(range(len(problem.visits)))
    rng.shuffle(order)
    return sorted(order, key=lambda v: not problem.visits[v].required)


def _drop_one(state: State, truck: int, stops: Stops) -> Stops:
    """The route less the visit whose loss is cheapest, if one loss mends it; else less the least valuable."""
    problem = state.problem

    def worth(index: int) -> tuple[float, float]:
        rest = stops[:index] + stops[index + 1 :]
        visit = problem.visits[stops[index]]
        return visit.value + problem.dear * visit.required, state.route_cost(truck, rest)

    places = [i for i, s in enumerate(stops) if s >= 0]
    if not places:
        return ()
    mending = [i for i in places if worth(i)[1] < INFEASIBLE]
    index = min(mending or places, key=lambda i: sum(worth(i)) if mending else worth(i)[0])
    return stops[:index] + stops[index + 1 :]


def tidy_route(state: State, truck: int, stops: Stops) -> Stops:
    """Take out depot calls that are not needed, and turn round each trip that is cheaper backwards."""
    if not any(s >= 0 for s in stops):
        return ()
    cost = state.route_cost(truck, stops)
    for at in range(len(stops) - 1, -1, -1):
        if stops[at] < 0:
            shorter = stops[:at] + stops[at + 1 :]
            less = state.route_cost(truck, shorter)
            idle = at == len(stops) - 1 or stops[at + 1] < 0
            if less <= cost < INFEASIBLE or less < cost or (less == cost and idle):
                stops, cost = shorter, less
    return _turn_trips(state, truck, stops, cost)


def _turn_trips(state: State, truck: int, stops: Stops, cost: float) -> Stops:
    start = 0
    for end in [i for i, s in enumerate(stops) if s < 0] + [len(stops)]:
        turned = stops[:start] + stops[start:end][::-1] + stops[end:]
        less = state.route_cost(truck, turned)
        if less < cost:
            stops, cost = turned, less
        start = end + 1
    return stops


def move_refills(state: State, truck: int) -> None:
    """Try every other depot for each refill of a route, one place earlier or later too."""
    for at, stop in enumerate(state.routes[truck]):
        if stop >= 0:
            continue
        route = state.routes[truck]
        cost, best = state.route_cost(truck, route), route
        rest = route[:at] + route[at + 1 :]
        for place in (at - 1, at, at + 1):
            for depot in state.problem.trucks[truck].refill_depots:
                if 0 <= place <= len(rest):
                    other = (*rest[:place], depot_stop(depot), *rest[place:])
                    less = state.route_cost(truck, other)
                    if less < cost - 1e-9:
                        cost, best = less, other
        if best is not route:
            state.put(truck, best)
            return move_refills(state, truck)
    return None


class Neighbours:
    """For each visit, all visits from near to far."""

    def __init__(self, problem: Problem) -> None:
        table = problem.distance_m[0]
        places = [v.place for v in problem.visits]
        self.of = [[int(j) for j in table[p, places].argsort(kind="stable")] for p in places]


def _ruin(state: State, near: Neighbours, rng: random.Random) -> int | None:
    """Take strings of neighbouring visits out of the routes around a random visit, and tell which.

    In the rest of a day half of them lie around a visit that is left out: what went wrong is there.
    """
    routes = [r for r in state.routes if r]
    if not routes:
        return None
    mean = sum(len(r) for r in routes) / len(routes)
    longest = min(LONGEST_STRING, mean)
    strings = int(rng.uniform(1, 4 * MEAN_REMOVED / (1 + longest) - 1 + 1))
    where = {s: k for k, r in enumerate(state.routes) for s in r if s >= 0}
    hurt: set[int] = set()
    centre = rng.randrange(len(near.of))
    if state.problem.habit is not None and state.unserved and rng.random() < AROUND_LEFT:
        centre = rng.choice(sorted(state.unserved))
    for visit in near.of[centre]:
        truck = where.get(visit)
        if truck is None or truck in hurt:
            continue
        if len(hurt) >= strings:
            break
        hurt.add(truck)
        route = state.routes[truck]
        length = int(rng.uniform(1, min(len(route), longest) + 1))
        at = route.index(visit)
        first = max(0, min(rng.randint(at - length + 1, at), len(route) - length))
        rest = tuple(s for i, s in enumerate(route) if s < 0 or not first <= i < first + length)
        rest = tidy_route(state, truck, rest)
        if state.route_cost(truck, rest) == INFEASIBLE:
            rest = ()
        state.put(truck, rest)
    return centre


def _order(problem: Problem, visits: set[int], rng: random.Random | None) -> list[int]:
    """The order of reinsertion: required first, then by chance the large, the far, the valuable or any."""
    items = sorted(visits)
    keys: list[Callable[[int], float]] = [
        lambda v: -problem.load_g([v]),
        lambda v: -problem.distance_rows[0][problem.depots[0].place][problem.visits[v].place],
        lambda v: -problem.visits[v].value,
        lambda v: max((end for _, end in problem.visits[v].windows), default=0),
    ]
    if rng is None:
        items.sort(key=keys[2])
    else:
        rng.shuffle(items)
        pick = rng.randrange(len(keys) + 2)
        if pick < len(keys):
            items.sort(key=keys[pick])
    return sorted(items, key=lambda v: not problem.visits[v].required)


def _to_place(trial: State, left: set[int], near: Neighbours, around: int | None) -> set[int]:
    """What to put back: all that is in no route. In the rest of a day, where seconds count: what was taken
    out, what must be fed, and the few next to the change that were left out before.
    """
    if trial.problem.habit is None or around is None:
        return trial.unserved
    must = {v for v in left if trial.problem.visits[v].required}
    nearest = (v for v in near.of[around] if v in left)
    return (trial.unserved - left) | must | set(islice(nearest, LEFT_TRIED))


def improve(
    state: State,
    seed: int,
    progress: Callable[[], float],
    on_best: Callable[[Solution, float], None],
) -> State:
    """Anneal until ``progress`` (0 at first) reaches 1, telling each better solution and its price."""
    problem, rng = state.problem, random.Random(seed)
    if not problem.visits:
        return state
    near = Neighbours(problem)
    first = START_HEAT if problem.habit is None else REST_HEAT
    for truck in range(len(problem.trucks)):
        move_refills(state, truck)
    best, best_price = state.copy(), state.price
    on_best(best.solution(), best_price)
    here_price = best_price
    scale = max(1e-9, sum(j.cost for j in (state.judge(k, r) for k, r in enumerate(state.routes))))
    while (done := progress()) < 1.0:
        heat = scale * first * (END_HEAT / first) ** done
        trial = state.copy()
        around = _ruin(trial, near, rng)
        insert_all(trial, _order(problem, _to_place(trial, state.unserved, near, around), rng), rng)
        for truck in range(len(trial.routes)):
            if trial.routes[truck] != state.routes[truck]:
                trial.put(truck, tidy_route(trial, truck, trial.routes[truck]))
        price = trial.price
        if price < here_price - heat * math.log(1.0 - rng.random()):
            state, here_price = trial, price
        if price < best_price - 1e-9:
            for truck in range(len(trial.routes)):
                move_refills(trial, truck)
            state, here_price = trial, trial.price
            best, best_price = trial.copy(), here_price
            on_best(best.solution(), best_price)
    return best
