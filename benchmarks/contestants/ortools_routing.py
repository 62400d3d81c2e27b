"""Plan a day with OR-Tools' routing library, from nothing or from given routes."""

from __future__ import annotations

from routing.planning.problem import Problem, Stops
from routing.planning.refine import Limit, library_plans
from routing.planning.state import Judge, State

KEPT = 4


def plan(
    problem: Problem, seconds: float, start: tuple[Stops, ...] | None = None, *, processor: bool = False
) -> State | None:
    """The best exact plan made of the library's last few improvements; None where it found nothing.

    The library takes no seed: its searches differ by the clock alone. ``processor``: the seconds are of
    processor time.
    """
    found = library_plans(Judge(problem), Limit(seconds, processor=processor), start, KEPT)
    return found[0] if found else None
