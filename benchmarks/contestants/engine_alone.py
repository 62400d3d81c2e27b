"""Plan a day with the routing engine used directly: its routes made exact, and no search of ours."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable

from routing.planning.engines.pyvrp_engine import find_routes
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Problem, Stops
from routing.planning.search.search import adopt

KEPT = 4


def plan(problem: Problem, seconds: float, seed: int, clock: Callable[[], float] = time.monotonic) -> State:
    """The best exact plan made of the engine's last few improvements; ``clock`` counts the seconds."""
    began = clock()
    kept: deque[tuple[Stops, ...]] = deque(maxlen=KEPT)
    last = find_routes(problem, seed, lambda _: clock() - began >= seconds, kept.append)
    kept.append(last)
    judge = Judge(problem)
    return min((adopt(judge, routes) for routes in dict.fromkeys(kept)), key=lambda s: s.price)
