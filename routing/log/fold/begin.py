"""Find where the rest of a truck's day begins, and what it has driven on its way by then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from routing.domain.fleet import HERE
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Route

SAME_DEGREES = 2e-6
"""Plans hold six decimals of a degree: what lies nearer than this is the same place."""


@dataclass(frozen=True)
class Resumed:
    """Where a plan of the rest of a day takes up a truck on its way.

    It is to be at ``place`` by then and goes on at ``goes``. ``so_far_s``: it had driven so much since the
    last report when the plan was made; ``before_s``: it drives so much from the last report to ``place``.
    """

    place: str
    goes: datetime
    so_far_s: int
    before_s: int


def begin_place(operation: Operation, route: Route, likely: Sequence[str | None]) -> str:
    """The key of the place that a route begins at: a stand-in is the yard that lies where it is drawn.

    ``likely``: what it is where several yards lie there, or none does any more.
    """
    first = route.stops[0]
    if first.place_id in operation.depots or not first.place_id.startswith(HERE):
        return place_key("depot", first.place_id)
    there = [
        place_key("yard", yard.yard_id)
        for yard in operation.yards.values()
        if abs(yard.position.lat - first.lat) <= SAME_DEGREES
        and abs(yard.position.lon - first.lon) <= SAME_DEGREES
    ]
    known = [key for key in likely if key and (key in there or not there)]
    return next(iter((*known, *there)), place_key("depot", first.place_id))
