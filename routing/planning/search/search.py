"""Adopt, build and improve days, by machine code or as Python.

Every better plan is judged again as Python before it is told: a slip of the compiler would be found.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

import numpy as np

from routing.planning.evaluate.loads import FAULTS, Fault
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.problem.problem import Problem, Solution, Stops, depot_stop
from routing.planning.search import kernel
from routing.planning.search.backend import PYTHON, Backend, select
from routing.planning.search.budget import Phase
from routing.planning.search.insertion import LARGE
from routing.planning.search.routes import BEST, HERE, TRIAL

START_HEAT = 0.03
REMAINING_DAY_HEAT = 0.01
"""A re-plan begins from a plan that was good this morning: less heat at first."""

END_HEAT = 0.0001
# Steps between two looks at the clock, by counting; by the clock as many as last about so long.
STRETCH = 20
STRETCH_S = 0.03
LONGEST_STRETCH = 5000
TELL_EVERY_S = 0.5
TELL_EVERY = 2000
"""On large days better plans come at every step and take long to judge again: they are told so often, by the
clock or by steps."""

CLOSE = 1e-6


class Disagreement(Exception):
    """The search prices a plan otherwise than the rules as Python, or calls lawful what they do not.

    That is a slip of the compiler; no day is known where it happens. Whoever meets it goes on without it.
    """


class Search:
    """A day that is searched."""

    def __init__(self, judge: Judge, backend: Backend, stops: int = 0) -> None:
        self.judge, self.problem, self.backend = judge, judge.problem, backend
        self.tables, self.scratch, self.routes, self.trials = backend.room(judge.problem, stops)
        trucks = self.routes.trucks
        self.trucks = trucks.view(np.recarray) if isinstance(trucks, np.ndarray) else trucks

    @property
    def most_stops(self) -> int:
        """Stops that a route has room for."""
        return len(self.trials.route) - 4

    def begin(self, routes: Sequence[Stops]) -> None:
        """Take over lawful routes."""
        for k, route in enumerate(routes):
            self.try_route(k, route)
        refused = self.run(kernel.BEGIN)
        if refused >= 0:
            raise Disagreement(f"route of truck {refused}: {routes[refused]}")

    def try_route(self, truck: int, stops: Stops) -> None:
        """Write a route where routes are tried."""
        row = self.routes.stops[TRIAL][truck]
        for i, stop in enumerate(stops):
            row[i] = stop
        self.trucks[TRIAL][truck].length = len(stops)

    def route(self, version: int, truck: int) -> Stops:
        """A truck's route in a version."""
        length = int(self.trucks[version][truck].length)
        return tuple(map(int, self.routes.stops[version][truck][:length]))

    def tidied(self, truck: int, stops: Stops) -> tuple[Stops, Fault | None]:
        """A route without needless calls, its trips turned as is cheapest, and what is wrong with it."""
        self.try_route(truck, stops)
        fault = FAULTS[self.run(kernel.TIDY, truck)]
        return self.route(TRIAL, truck), fault

    def put(self, truck: int, stops: Stops) -> None:
        """Give a truck a lawful route."""
        self.try_route(truck, stops)
        self.run(kernel.PUT, truck)

    def fill(self, visits: Iterable[int], chance: bool) -> None:
        """Put visits, in order, each where it costs least."""
        count = 0
        for count, visit in enumerate(visits, start=1):
            self.trials.order[count - 1] = visit
        self.run(kernel.FILL_BY_CHANCE if chance else kernel.FILL, count)

    def run(self, task: int, count: int = 0, heat: float = 0.0, cooling: float = 1.0) -> int:
        """Do a task of the kernel."""
        return self.backend.run(
            self.tables, self.scratch, self.routes, self.trials, task, count, heat, cooling
        )

    def state(self, version: int) -> State:
        """A version of the routes, every one judged again as Python."""
        state = State(self.judge)
        for k in range(len(self.problem.trucks)):
            stops = self.route(version, k)
            if state.route_cost(k, stops) == INFEASIBLE:
                raise Disagreement(f"route of truck {k}: {stops}")
            state.put(k, stops)
        price = float(self.routes.price[version])
        if abs(state.price - price) > CLOSE * max(1.0, abs(price)):
            raise Disagreement(f"price {price} against {state.price}")
        return state


@lru_cache(maxsize=1)
def _search(judge: Judge, backend: Backend, stops: int) -> Search:
    """The room of a day, one day at a time: it is large. Whoever asks begins anew, so nobody may while an
    anneal
    of the same day goes on.
    """
    return Search(judge, backend, stops)


def _room_for(routes: Iterable[Stops]) -> int:
    """Room that longer routes than the hours allow take, in steps; none where they are short."""
    longest = max(map(len, routes), default=0)
    return 0 if longest < 30 else 100 * (1 + longest // 50)


def adopt(judge: Judge, routes: tuple[Stops, ...], backend: Backend | None = None) -> State:
    """Take over routes that may break exact rules: drop what offends, put back what fits."""
    return _careful(judge, backend or select(), lambda search: _adopted(search, routes), _room_for(routes))


def _careful(judge: Judge, backend: Backend, do: Callable[[Search], State], stops: int = 0) -> State:
    """Do something with a backend, or without machine code where that is at odds with the rules."""
    try:
        return do(_search(judge, backend, stops))
    except Disagreement:
        if not backend.compiled:
            raise
        return do(Search(judge, PYTHON, stops))


def _adopted(search: Search, routes: tuple[Stops, ...]) -> State:
    problem = search.problem
    led = problem.habit.led(routes) if problem.habit else routes
    if not _taken_over(search, led):
        _mend(search, led)
    placed = {stop for k in range(len(led)) for stop in search.route(HERE, k)}
    left = [v for v in range(len(problem.visits)) if v not in placed]
    left.sort(key=lambda v: (not problem.visits[v].required, -problem.visits[v].value))
    search.fill(left, chance=False)
    return search.state(HERE)


def _taken_over(search: Search, routes: Sequence[Stops]) -> bool:
    """Take over routes that are lawful as they are, and tidy each beside the others; whether they are."""
    try:
        search.begin(routes)
    except Disagreement:
        return False
    for truck, stops in enumerate(routes):
        kept, fault = search.tidied(truck, stops)
        if fault is None:
            search.put(truck, kept)
    return True


def _mend(search: Search, routes: Sequence[Stops]) -> None:
    """Take over routes one by one, each without what offends."""
    search.begin(((),) * len(routes))
    for truck, stops in enumerate(routes):
        kept, fault = search.tidied(truck, stops)
        kept, fault = search.tidied(truck, _first_call(search.problem, search.judge, truck, kept, fault))
        while fault is not None:
            kept, fault = search.tidied(truck, _drop_one(search, truck, kept))
        search.put(truck, kept)


def _first_call(problem: Problem, judge: Judge, truck: int, stops: Stops, fault: Fault | None) -> Stops:
    """The route of an empty truck whose start cannot fill it, with a call before all else where one can."""
    spec = problem.trucks[truck]
    if any(spec.level_ml) or fault is not Fault.SUPPLY:
        return stops
    calls = [(depot_stop(d), *stops) for d in spec.refill_depots]
    served = [route for route in calls if judge(truck, route).fault is not Fault.SUPPLY]
    return min(served, key=lambda route: judge(truck, route).cost, default=stops)


def _drop_one(search: Search, truck: int, stops: Stops) -> Stops:
    """The route less the visit whose loss is cheapest, if one loss mends it; else less the least valuable."""
    problem = search.problem

    def without(index: int) -> Stops:
        return stops[:index] + stops[index + 1 :]

    def worth(index: int) -> float:
        visit = problem.visits[stops[index]]
        return visit.value + problem.dear * visit.required

    places = [i for i, s in enumerate(stops) if s >= 0]
    if not places:
        return ()
    costs = {i: search.judge(truck, without(i)).cost for i in places}
    mending = [i for i in places if costs[i] < INFEASIBLE]
    return without(min(mending or places, key=lambda i: worth(i) + (costs[i] if mending else 0.0)))


def afresh(judge: Judge, seed: int) -> State:
    """A day built by insertion in a chance order: a start unlike any other."""
    order, rng = list(range(len(judge.problem.visits))), random.Random(seed)
    rng.shuffle(order)
    order.sort(key=lambda v: not judge.problem.visits[v].required)

    def fill(search: Search) -> State:
        search.begin(((),) * len(judge.problem.trucks))
        search.run(kernel.SEED, seed)
        search.fill(order, chance=True)
        return search.state(HERE)

    return _careful(judge, select(), fill)


def improve(
    state: State,
    seed: int,
    progress: Phase,
    on_best: Callable[[Solution, float], None],
    on_trouble: Callable[[str], None] = lambda _text: None,
) -> State:
    """Anneal until ``progress`` reaches 1, telling each better solution and its price."""
    best, backend = state, select()

    def told(found: State) -> None:
        nonlocal best
        if found.price <= best.price:
            best = found
            on_best(found.solution(), found.price)

    try:
        _anneal(_search(state.judge, backend, _room_for(state.routes)), state, seed, progress, told)
    except Disagreement as error:
        if not backend.compiled:
            raise
        on_trouble(f"the compiled search was at odds with the rules and was left ({error})")
        slower = progress.slower(backend.speed)
        _anneal(Search(state.judge, PYTHON, _room_for(best.routes)), best, seed, slower, told)
    return best


def _anneal(search: Search, state: State, seed: int, progress: Phase, tell: Callable[[State], None]) -> None:
    problem = state.problem
    if not problem.visits:
        return
    search.begin(state.routes)
    search.run(kernel.SEED, seed)
    search.run(kernel.SETTLE)
    tell(search.state(BEST))
    hot, cold = _heats(problem, state)
    often = _Often(progress, len(problem.visits) > LARGE)
    while (done := progress.done()) < 1.0:
        steps = progress.stretch(STRETCH if search.backend.compiled else 1, STRETCH_S, LONGEST_STRETCH)
        heat, cooling = hot * (cold / hot) ** done, (cold / hot) ** progress.a_step()
        better = search.run(kernel.ANNEAL, steps, heat, cooling) > 0
        progress.taken += steps
        if often.due(better):
            tell(search.state(BEST))
    if len(problem.visits) > LARGE:
        search.run(kernel.SETTLE)
        tell(search.state(BEST))


class _Often:
    """Whether a better plan is to be told now: always, but on large days every so often."""

    def __init__(self, progress: Phase, large: bool) -> None:
        self.progress, self.large, self.waiting = progress, large, False
        self.told_s, self.told_steps = 0.0, 0

    def due(self, better: bool) -> bool:
        """Note whether there is a better plan; whether one is to be told."""
        self.waiting = self.waiting or better
        if not self.waiting:
            return False
        if self.large:
            if self.progress.most is not None:
                early = self.progress.taken - self.told_steps < TELL_EVERY
            else:
                early = self.progress.elapsed_s - self.told_s < TELL_EVERY_S
            if early:
                return False
        self.waiting, self.told_s, self.told_steps = False, self.progress.elapsed_s, self.progress.taken
        return True


def _heats(problem: Problem, state: State) -> tuple[float, float]:
    """The heat that an anneal begins and ends with."""
    scale = max(1e-9, sum(state.judge(k, r).cost for k, r in enumerate(state.routes)))
    return scale * (START_HEAT if problem.habit is None else REMAINING_DAY_HEAT), scale * END_HEAT
