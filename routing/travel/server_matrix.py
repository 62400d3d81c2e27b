"""Make travel of what a routing server or engine says: a table for each kind of truck, with last miles."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

import numpy as np

from routing.domain.errors import FeedroundError
from routing.domain.fleet import Truck
from routing.domain.operation import Operation, place_key
from routing.domain.places import Position
from routing.domain.travel import Matrix, Provenance, Travel, TravelWarning
from routing.domain.units import M_PER_FOOT, M_PER_KM, S_PER_H
from routing.travel.server_tables import Block, Floats, Ints, Spots, gather_blocks, whole_tables

FARTHEST_M = 5_000.0
"""A place farther than this from every road of the map is an error: its coordinates, or the map."""

MOST_NAMED = 5

Line = tuple[tuple[float, float], ...]


class Source(Protocol):
    """A routing server or an engine: it answers for parts of tables, and draws lines."""

    @property
    def note(self) -> str:
        """What a reader must know of its figures, as the end of a sentence."""
        ...

    def truck_key(self, truck: Truck) -> str:
        """Trucks of the same key have the same table."""
        ...

    def at_once(self, n: int) -> int:
        """How many sources, and as many targets, to ask for at once out of n places."""
        ...

    def too_many(self, error: FeedroundError) -> bool:
        """Whether an error means that fewer places should be asked for at once."""
        ...

    def fault(self, text: str) -> FeedroundError:
        """The error to raise when an answer cannot be used."""
        ...

    def moved_m(self, spots: Spots, truck: Truck) -> Floats | None:
        """Metres from each place to the road it is put on, NaN where none is near; None: not told apart."""
        ...

    def block(self, spots: Spots, sources: range, targets: range, truck: Truck) -> Block:
        """Part of a table."""
        ...

    def line(self, a: tuple[float, float], b: tuple[float, float], truck: Truck) -> Line:
        """The line of (lon, lat) that a truck drives from one place to another."""
        ...


def road_travel(source: Source, operation: Operation, method: str, opening: str) -> Travel:
    """Travel between all depots and yards by the roads of a server or engine.

    Whole metres and seconds, rounded up. Both ends of a leg also hold the way between the place and the
    road it was put on (where that is told), at ``roads.off_road_km_per_h``, and the last mile of a yard.
    ``opening`` begins the note. Raises what the source raises, and its fault for answers that cannot be.
    """
    places = operation.positions()
    spots = [(position.lon, position.lat) for position in places.values()]
    names = [_named(key, position) for key, position in places.items()]
    last_mile_s = _last_miles_s(operation, tuple(places))
    tables: dict[str, tuple[Matrix, Floats | None]] = {}
    keys = {truck.truck_id: source.truck_key(truck) for truck in operation.trucks.values()}
    for truck in operation.trucks.values():
        if keys[truck.truck_id] not in tables:
            block = _checked_block(source, spots, names, truck)
            distance_m, drive_s = whole_tables(spots, block, names, source.fault)
            matrix = _with_ends(distance_m, drive_s, block.moved_m, last_mile_s, operation)
            tables[keys[truck.truck_id]] = (matrix, block.moved_m)
    first, moved_m = next(iter(tables.values()))
    by_truck = {truck_id: tables[key][0] for truck_id, key in keys.items()} if len(tables) > 1 else {}
    return Travel(
        places=tuple(places),
        positions=tuple(spots),
        matrix=first,
        provenance=Provenance(method, f"{opening} ({source.note}).", estimated=False),
        by_truck=by_truck,
        warnings=_far_warnings(moved_m, tuple(places), names, operation),
    )


def _checked_block(source: Source, spots: Spots, names: list[str], truck: Truck) -> Block:
    """The whole table; that every place is near a road is asked first where it can be."""
    moved_m = source.moved_m(spots, truck)
    _near_enough(moved_m, names, source)
    block = _whole_block(source, spots, truck)
    _near_enough(block.moved_m, names, source)
    return block if block.moved_m is not None else replace(block, moved_m=moved_m)


def _whole_block(source: Source, spots: Spots, truck: Truck) -> Block:
    """The whole table, asked for in smaller parts when the source takes fewer places than expected."""
    size = source.at_once(len(spots))
    while True:
        try:
            return gather_blocks(len(spots), size, lambda s, t: source.block(spots, s, t, truck))
        except FeedroundError as error:
            if size == 1 or not source.too_many(error):
                raise
            size //= 2


def _near_enough(moved_m: Floats | None, names: list[str], source: Source) -> None:
    if moved_m is None or (moved_m <= FARTHEST_M).all():
        return
    far = [names[k] for k in np.flatnonzero(~(moved_m <= FARTHEST_M))]
    more = " and others" if len(far) > MOST_NAMED else ""
    raise source.fault(
        f"{', '.join(far[:MOST_NAMED])}{more}: more than {FARTHEST_M / M_PER_KM:.0f} km from every road of "
        "its map. Check the coordinates, and that its map covers all yards and depots"
    )


def _with_ends(
    distance_m: Ints, drive_s: Ints, moved_m: Floats | None, last_mile_s: Ints, operation: Operation
) -> Matrix:
    if moved_m is not None:
        off_road_m_per_s = operation.roads.off_road_km_per_h * M_PER_KM / S_PER_H
        off_m = np.ceil(moved_m).astype(np.int64)
        off_s = np.ceil(np.round(moved_m / off_road_m_per_s, 6)).astype(np.int64)
        distance_m = distance_m + off_m[:, None] + off_m[None, :]
        drive_s = drive_s + off_s[:, None] + off_s[None, :]
    drive_s = drive_s + last_mile_s[:, None] + last_mile_s[None, :]
    for table in (distance_m, drive_s):
        np.fill_diagonal(table, 0)
    return Matrix(distance_m, drive_s)


def _far_warnings(
    moved_m: Floats | None, places: tuple[str, ...], names: list[str], operation: Operation
) -> tuple[TravelWarning, ...]:
    """Name the places that lie far from a road, farthest first; nobody looks for them otherwise."""
    if moved_m is None:
        return ()
    unit_m, unit = (M_PER_FOOT, "ft") if operation.units == "us" else (1.0, "m")
    far = [int(k) for k in np.flatnonzero(moved_m > operation.roads.snap_limit_m)]
    return tuple(
        TravelWarning(
            "far_from_road",
            places[k],
            f"{names[k]}: the nearest road is {moved_m[k] / unit_m:,.0f} {unit} away: check the coordinates",
        )
        for k in sorted(far, key=lambda k: -moved_m[k])
    )


def _named(key: str, position: Position) -> str:
    kind, _, place_id = key.partition(":")
    return f"{kind} {place_id} at {position.lat:.5f}, {position.lon:.5f}"


def _last_miles_s(operation: Operation, places: tuple[str, ...]) -> Ints:
    """Seconds to add to each leg at each place."""
    extra_s = {place_key("yard", yard.yard_id): yard.last_mile_s for yard in operation.yards.values()}
    return np.array([extra_s.get(place, 0) for place in places], dtype=np.int64)
