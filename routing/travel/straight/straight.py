"""Estimate drives from straight lines: geodesic times circuity, at a speed that grows with distance."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.domain.operation import Operation, place_key
from routing.domain.travel import Matrix, Provenance, Travel
from routing.domain.units import M_PER_KM, M_PER_MILE, S_PER_H
from routing.travel.straight.geodesic import geodesic_table_m

SPEED_BANDS: tuple[tuple[float, float], ...] = (
    (0.0, 0.45),
    (2_000.0, 0.70),
    (10_000.0, 0.85),
    (30_000.0, 1.00),
)
"""Road metres from which on, in a leg, this share of the top speed is driven.

Estimate: the first and last kilometres of a leg are tracks, lanes and villages. At a top speed of
55 km/h a leg of 2 km is driven at 25 km/h, 10 km at 35, 30 km at 42 and 100 km at 50. Own measurement
between minor roads of two farmland counties, at the speeds of a loaded truck (medians): legs of 1-2 km
23 and 28 km/h, 2-5 km 29 and 34, 5-10 km 34 and 39, 10-20 km 36 and 45, 20-30 km 48. The bands keep to
the slower county.
"""


def straight_travel(operation: Operation, more: str = "") -> Travel:
    """Travel between all depots and yards of an operation, estimated; ``more`` is added to its note.

    The last mile of a yard (``Yard.last_mile_s``) is in every leg to it and from it. Metres and seconds
    are rounded up, so that a detour by way of a third place is never shorter than the drive itself.
    """
    places = operation.positions()
    lat = np.array([position.lat for position in places.values()], dtype=np.float64)
    lon = np.array([position.lon for position in places.values()], dtype=np.float64)
    road_m = road_distance_m(geodesic_table_m(lat, lon), operation.travel.circuity)
    drive_s = road_time_s(road_m, operation.travel.speed_km_per_h)
    last_mile_s = last_miles_s(operation, tuple(places))
    drive_s += last_mile_s[:, None] + last_mile_s[None, :]
    np.fill_diagonal(drive_s, 0)
    return Travel(
        places=tuple(places),
        positions=tuple((position.lon, position.lat) for position in places.values()),
        matrix=Matrix(road_m, drive_s),
        provenance=Provenance("straight", f"{straight_note(operation)} {more}".strip(), estimated=True),
    )


def road_distance_m(geodesic_m: Any, circuity: float) -> NDArray[np.int64]:
    """Whole metres of road for metres in a straight line, rounded up."""
    road_m = np.asarray(geodesic_m, dtype=np.float64) * circuity
    return np.ceil(np.round(road_m, 6)).astype(np.int64)


def road_time_s(road_m: Any, speed_km_per_h: float) -> NDArray[np.int64]:
    """Whole seconds to drive metres of road, rounded up; ``speed_km_per_h`` is what long legs tend to.

    The metres of a leg are driven band by band (``SPEED_BANDS``), so time always grows with distance
    and the mean speed of a leg grows towards the top speed.
    """
    metres = np.asarray(road_m, dtype=np.float64)
    top_m_per_s = speed_km_per_h * M_PER_KM / S_PER_H
    ends = [start for start, _ in SPEED_BANDS[1:]] + [np.inf]
    seconds = np.zeros_like(metres)
    for (start, share), end in zip(SPEED_BANDS, ends, strict=True):
        seconds += np.clip(metres - start, 0.0, end - start) / (share * top_m_per_s)
    return np.ceil(np.round(seconds, 6)).astype(np.int64)


def straight_note(operation: Operation) -> str:
    """What a reader must know about these distances and times, in one paragraph and his own units."""
    settings = operation.travel
    top = f"{settings.speed_km_per_h:.0f} km/h"
    if operation.units == "us":
        top = f"{settings.speed_km_per_h * M_PER_KM / M_PER_MILE:.0f} mph"
    return (
        f"Estimated: straight lines x {settings.circuity:g} (circuity), not roads. Against measured roads in "
        "open farmland half the legs were more than 11 % off and one in ten more than 28 %; short legs and "
        "mountains are worse (roads of 1.7 to 2.2 times the straight line). Short legs are driven slower, "
        f"long ones tend to {top}. Set circuity and speed in [travel] from legs "
        "on your own odometer."
    )


def last_miles_s(operation: Operation, places: tuple[str, ...]) -> NDArray[np.int64]:
    """Seconds to add to each leg at each place."""
    extra_s = {place_key("yard", yard.yard_id): yard.last_mile_s for yard in operation.yards.values()}
    return np.array([extra_s.get(place, 0) for place in places], dtype=np.int64)
