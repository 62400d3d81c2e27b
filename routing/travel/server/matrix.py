"""Make travel of what a routing server or engine says: a table for each kind of truck, with last miles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from routing.domain.errors import FeedroundError
from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.places import Position
from routing.domain.travel import Matrix, Provenance, Travel, TravelWarning
from routing.domain.units import M_PER_FOOT, M_PER_KM, S_PER_H
from routing.travel.roads.roads import NO_WAY_M, NO_WAY_S
from routing.travel.server.tables import (
    MOST_NAMED,
    Block,
    Floats,
    Spots,
    check_table,
    cut_off,
    gather_blocks,
    rounded_up,
)
from routing.travel.straight.straight import last_miles_s

FARTHEST_M = 5_000.0
"""A place farther than this from every road of the map is an error: its coordinates, or the map."""

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
    tables: dict[str, _Table] = {}
    keys = {truck.truck_id: source.truck_key(truck) for truck in operation.trucks.values()}
    for truck in operation.trucks.values():
        if keys[truck.truck_id] not in tables:
            block = _checked_block(source, spots, names, truck)
            shut = cut_off(block, len(operation.depots), names, source.fault)
            matrix = _with_ends(block, operation, tuple(places))
            closed = frozenset(key for key, is_shut in zip(places, shut, strict=True) if is_shut)
            tables[keys[truck.truck_id]] = _Table(matrix, block.moved_m, closed)
    first = next(iter(tables.values()))
    own = {truck_id: tables[key] for truck_id, key in keys.items()}
    return Travel(
        places=tuple(places),
        positions=tuple(spots),
        matrix=first.matrix,
        provenance=Provenance(method, f"{opening}: {source.note}", estimated=False),
        by_truck={truck_id: table.matrix for truck_id, table in own.items()} if len(tables) > 1 else {},
        closed={truck_id: table.closed for truck_id, table in own.items() if table.closed},
        warnings=(
            *_far_warnings(first.moved_m, tuple(places), names, operation),
            *_closed_warnings(own, places, names),
        ),
    )


@dataclass(frozen=True)
class _Table:
    """What trucks of one kind drive."""

    matrix: Matrix
    moved_m: Floats | None
    closed: frozenset[str]


def _checked_block(source: Source, spots: Spots, names: list[str], truck: Truck) -> Block:
    """The whole table; that every place is near a road is asked first where it can be."""
    moved_m = source.moved_m(spots, truck)
    _near_enough(moved_m, names, source)
    block = _whole_block(source, spots, truck)
    _near_enough(block.moved_m, names, source)
    block = block if block.moved_m is not None else replace(block, moved_m=moved_m)
    check_table(spots, block, names, source.fault)
    return block


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


def _with_ends(block: Block, operation: Operation, places: tuple[str, ...]) -> Matrix:
    """Whole metres and seconds, with the way to the road and the last mile at both ends."""
    distance_m, drive_s = block.distance_m, block.duration_s
    if block.moved_m is not None:
        off_m = block.moved_m[:, None] + block.moved_m[None, :]
        distance_m = distance_m + off_m
        drive_s = drive_s + off_m / (operation.roads.off_road_km_per_h * M_PER_KM / S_PER_H)
    extra_s = last_miles_s(operation, places)
    whole_m = rounded_up(distance_m, NO_WAY_M)
    whole_s = rounded_up(drive_s, NO_WAY_S) + extra_s[:, None] + extra_s[None, :]
    for table in (whole_m, whole_s):
        np.fill_diagonal(table, 0)
    return Matrix(whole_m, whole_s)


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
            f"{names[k]}: the nearest road is {moved_m[k] / unit_m:,.0f} {unit} away",
            "check the coordinates",
        )
        for k in sorted(far, key=lambda k: -moved_m[k])
    )


def _closed_warnings(
    own: Mapping[str, _Table], places: Iterable[str], names: Sequence[str]
) -> tuple[TravelWarning, ...]:
    """Name the places that a truck has no way to, and the trucks."""
    found = []
    for key, name in zip(places, names, strict=True):
        trucks = [truck_id for truck_id, table in own.items() if key in table.closed]
        if trucks:
            wrong = f"{name}: no road leads {', '.join(trucks)} there and back"
            found.append(TravelWarning("no_road_for_truck", key, wrong, "check the coordinates and the map"))
    return tuple(found)


def _named(key: str, position: Position) -> str:
    kind, _, place_id = key.partition(":")
    return f"{kind} {place_id} at {position.lat:.5f}, {position.lon:.5f}"
