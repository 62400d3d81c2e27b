"""List the places that lie outside a legal radius of a base, for cautions."""

from __future__ import annotations

from typing import NamedTuple

from routing.domain.operation import Operation
from routing.domain.places import Position
from routing.domain.units import M_PER_KM, M_PER_NAUTICAL_MILE
from routing.travel.straight.geodesic import geodesic_m

US_SHORT_HAUL_M = 150 * M_PER_NAUTICAL_MILE
"""150 air miles, 277.8 km, in a straight line: 49 CFR 395.1(e)(1) (short haul) and 395.1(k) (farming)."""

EU_FARM_M = 100 * M_PER_KM
"""100 km: Regulation (EC) No 561/2006, Article 13(1)(b), vehicles of farms near their base."""


class Beyond(NamedTuple):
    """A place outside the radius: its key in ``Operation.positions()``, and how far off it is."""

    place: str
    distance_m: float


def beyond_radius(operation: Operation, origin: Position, radius_m: float) -> tuple[Beyond, ...]:
    """Yards and depots more than ``radius_m`` from ``origin`` in a straight line, farthest first.

    Exact geodesics: a sphere is up to 0.6 % off, which is 1.6 km at 150 air miles. A place exactly on
    the circle is within it.
    """
    outside = [
        Beyond(place, distance_m)
        for place, position in operation.positions().items()
        if (distance_m := geodesic_m(origin, position)) > radius_m
    ]
    return tuple(sorted(outside, key=lambda found: (-found.distance_m, found.place)))
