"""What the search thinks of a state: places that it would try, routes as it would tidy them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from routing.planning.evaluate.state import INFEASIBLE, State
from routing.planning.problem.problem import Solution, Stops
from routing.planning.search import insertion, ruin
from routing.planning.search.backend import PYTHON
from routing.planning.search.budget import Phase
from routing.planning.search.routes import HERE
from routing.planning.search.search import Search, improve


@dataclass(frozen=True)
class Place:
    """A place before a stop: what a visit there adds at a guess, and whether its load fits."""

    at: int
    fits: bool
    guess: float


def searching(state: State) -> Search:
    """A search, as Python, that stands where a state is."""
    search = Search(state.judge, PYTHON)
    search.begin(state.routes)
    return search


def places_of(state: State, truck: int, visit: int) -> list[Place]:
    """The places in one route that the search would look at."""
    search = searching(state)
    t, r, y = search.tables, search.routes, search.trials
    found = insertion._places_of(t, r, y, HERE, truck, visit, 0)
    return [Place(p.stop, bool(p.fits), y.guess[i]) for i, p in enumerate(y.places[:found])]


def tidy_route(state: State, truck: int, stops: Stops) -> Stops:
    """A route without needless calls, its trips turned as is cheapest."""
    return searching(state).tidied(truck, stops)[0]


def move_refills(state: State, truck: int) -> None:
    """Give every refill of a route its best place."""
    search = searching(state)
    ruin.move_refills(search.tables, search.scratch, search.routes, search.trials, HERE, truck)
    state.put(truck, search.route(HERE, truck))
    assert state.route_cost(truck, state.routes[truck]) < INFEASIBLE


def improved_by(
    start: State, steps: int, seed: int = 1, tell: Callable[[Solution, float], None] = lambda *_: None
) -> State:
    """A state after so many steps of the search."""
    phase = Phase(None, steps)
    return improve(start, seed, phase, tell)
