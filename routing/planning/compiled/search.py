"""Adopt, build and improve days by compiled steps: ``planning.search``, a few dozen times as fast.

Every better plan is judged again by the plain code before it is told.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

from routing.planning.compiled import machine
from routing.planning.compiled.routes import BEST, HERE, TRIAL, Routes, routes_for
from routing.planning.compiled.scratch import Scratch, scratch_for
from routing.planning.compiled.tables import Tables, tables_of
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.problem.problem import Problem, Solution, Stops
from routing.planning.search import search as plain
from routing.planning.search.budget import Phase
from routing.planning.search.insertion import insert_all
from routing.planning.search.search import END_HEAT, REST_HEAT, START_HEAT

SPEED = 40.0
troubles: list[str] = []
# Steps between two looks at the clock, by counting; by the clock as many as last about so long.
STRETCH = 20
STRETCH_S = 0.03
LONGEST_STRETCH = 5000
MARGIN = 8
CLOSE = 1e-6


class Disagreement(Exception):
    """The compiled code prices a plan otherwise than the plain code, or calls lawful what that does not.

    No day is known where it does. Whoever meets it goes on by the plain code alone.
    """


class Search:
    """A day in arrays, to be searched."""

    def __init__(self, judge: Judge) -> None:
        self.judge, self.problem = judge, judge.problem
        self.tables: Tables = tables_of(judge.problem)
        self.scratch: Scratch = scratch_for(self.tables)
        self.routes: Routes = routes_for(self.tables)

    def begin(self, routes: Sequence[Stops], seed: int, still: bool = False) -> None:
        """Take over lawful routes, as they are or with their refills moved to where they cost least."""
        for k, route in enumerate(routes):
            self.try_route(k, route)
        self.run(machine.SEED, seed)
        refused = self.run(machine.BEGIN_STILL if still else machine.BEGIN)
        if refused >= 0:
            raise Disagreement(f"route of truck {refused}: {routes[refused]}")

    def try_route(self, truck: int, stops: Stops) -> None:
        """Write a route where the machine code tries routes."""
        if len(stops) > self.routes.stops.shape[2] - MARGIN:
            raise Disagreement(f"route of truck {truck}: {len(stops)} stops are more than there is room for")
        self.routes.stops[TRIAL, truck, : len(stops)] = stops
        self.routes.trucks["length"][TRIAL, truck] = len(stops)

    def fill(self, visits: Iterable[int], chance: bool) -> None:
        """Put visits, in order, each where it costs least."""
        order = list(visits)
        self.scratch.order[: len(order)] = order
        self.run(machine.FILL_BY_CHANCE if chance else machine.FILL, len(order))

    def run(self, task: int, count: int = 0, heat: float = 0.0, cooling: float = 1.0) -> int:
        """Have the machine code do a task."""
        return machine.run(self.tables, self.scratch, self.routes, task, count, heat, cooling)

    def state(self, version: int) -> State:
        """A version of the routes as the plain code knows them, every one judged by it."""
        state = State(self.judge)
        for k in range(len(self.problem.trucks)):
            length = int(self.routes.trucks["length"][version, k])
            stops = tuple(map(int, self.routes.stops[version, k, :length]))
            if state.route_cost(k, stops) == INFEASIBLE:
                raise Disagreement(f"route of truck {k}: {stops}")
            state.put(k, stops)
        price = float(self.routes.price[version])
        if version == BEST and abs(state.price - price) > CLOSE * max(1.0, abs(price)):
            raise Disagreement(f"price {price} against {state.price}")
        return state


@lru_cache(maxsize=1)
def _search(judge: Judge) -> Search:
    """The arrays of a day, one day at a time: they are large. Whoever asks begins anew, so nobody may while
    an anneal of the same day goes on.
    """
    return Search(judge)


def adopt(judge: Judge, routes: tuple[Stops, ...]) -> State:
    """Take over routes that may break exact rules: drop what offends, put back what fits."""
    return plain.adopt(judge, routes, _insert)


def _insert(state: State, order: list[int]) -> State:
    try:
        return _filled(state.judge, state.routes, order)
    except Disagreement:
        insert_all(state, order)
        return state


def _filled(judge: Judge, routes: Sequence[Stops], order: list[int], seed: int | None = None) -> State:
    """Routes with visits put, in order, where each costs least; with a seed, places are overlooked."""
    search = _search(judge)
    search.begin(routes, seed or 0, still=True)
    search.fill(order, chance=seed is not None)
    return search.state(HERE)


def afresh(judge: Judge, seed: int) -> State:
    """A day built by insertion in a chance order: a start unlike any other."""
    order = plain.chance_order(judge.problem, random.Random(seed))
    try:
        return _filled(judge, ((),) * len(judge.problem.trucks), order, seed)
    except Disagreement:
        return plain.afresh(judge, seed)


def improve(
    state: State,
    seed: int,
    progress: Phase,
    on_best: Callable[[Solution, float], None],
) -> State:
    """Anneal until ``progress`` reaches 1, telling each better solution and its price."""
    best = state

    def told(found: State) -> None:
        nonlocal best
        if found.price <= best.price:
            best = found
            on_best(found.solution(), found.price)

    try:
        _anneal(state, seed, progress, told)
    except Disagreement as error:
        troubles.append(f"the fast search was at odds with the rules and was left ({error})")
        return plain.improve(best.copy(), seed, progress.slower(SPEED), on_best)
    return best


def _anneal(state: State, seed: int, progress: Phase, tell: Callable[[State], None]) -> None:
    problem = state.problem
    if not problem.visits:
        return
    search = _search(state.judge)
    search.begin(state.routes, seed)
    tell(search.state(BEST))
    hot, cold = _heats(problem, state)
    while (done := progress.done()) < 1.0:
        steps = progress.stretch(STRETCH, STRETCH_S, LONGEST_STRETCH)
        heat, cooling = hot * (cold / hot) ** done, (cold / hot) ** progress.a_step()
        if search.run(machine.ANNEAL, steps, heat, cooling):
            tell(search.state(BEST))
        progress.taken += steps


def _heats(problem: Problem, state: State) -> tuple[float, float]:
    """The heat that an anneal begins and ends with."""
    scale = max(1e-9, sum(state.judge(k, r).cost for k, r in enumerate(state.routes)))
    return scale * (START_HEAT if problem.habit is None else REST_HEAT), scale * END_HEAT
