"""Travel on a road graph: tables by truck, lines that follow the road, and what a reader must know."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.domain.errors import FeedroundError
from routing.domain.fleet import Truck
from routing.domain.operation import Operation, place_key
from routing.domain.travel import Lines, Matrix, Provenance, Travel, TravelWarning
from routing.domain.units import M_PER_KM, S_PER_H
from routing.travel.graph.arcs import CS, DM, Mask
from routing.travel.graph.graph import RoadGraph
from routing.travel.roads.climb import Climbs, climbs
from routing.travel.roads.drives import Drives, drives
from routing.travel.roads.elevation import Grid
from routing.travel.roads.lines import RoadLines
from routing.travel.roads.places import Place, Ways, places_of, snap_places
from routing.travel.roads.snap import Snapped
from routing.travel.roads.words import base_roads, roads_note
from routing.travel.straight.straight import last_miles_s

NO_WAY_S = 10 * 24 * 3600
NO_WAY_M = 5_000_000
"""A drive that no road allows: ten days, longer than any shift, and 5,000 km."""

MOST_UNKNOWN = 0.5
"""A grid that knows less of the roads than this is another county's."""

SNAP_TRIES = 6
"""Each takes a place off a road that cannot be driven to or from; a place is rarely moved twice."""


@dataclass(frozen=True)
class _Picked:
    """For each pair of places, which set of passable roads the truck drives on (number of a mask)."""

    pick: NDArray[np.int8]

    @property
    def key(self) -> bytes:
        return self.pick.tobytes()


class _Masks:
    """The different sets of usable edges, numbered as they appear."""

    def __init__(self, ways: Ways) -> None:
        self.ways = ways
        self.found: dict[bytes, int] = {}
        self.masks: list[Mask] = []

    def number(self, truck_id: str, gross_kg: float) -> int:
        usable = self.ways.reachable(self.ways.passable(truck_id, gross_kg))
        key = np.packbits(usable).tobytes()
        if key not in self.found:
            self.found[key] = len(self.masks)
            self.masks.append(usable)
        return self.found[key]


def roads_travel(operation: Operation, graph: RoadGraph, grid: Grid | None = None) -> Travel:
    """Travel between all depots and yards on roads. Raises InputError for places far from any road.

    A truck keeps off roads limited under its plated mass, height and length. Limits of actual mass are
    held against the legal gross too, which is never too little; on drives to and from a yard with a
    posted gross limit, against that limit, for the truck weighs no more there. Trucks have a table of
    their own where a limit makes a difference. With an elevation ``grid`` every drive has its climb.
    """
    places = places_of(operation)
    ways = Ways(graph, operation)
    masks = _Masks(ways)
    picked = {truck: _pick(masks, operation, truck, places) for truck in operation.trucks}
    if not picked:
        masks.masks.append(ways.reachable(ways.any_truck(float("inf"))))
    snapped, warnings, tables = _snapped_tables(ways, masks.masks, places)
    keys = tuple(place.key for place in places)
    positions = tuple((place.lon, place.lat) for place in places)
    climbed = _climbed(operation, grid, tables)
    made: dict[bytes, tuple[Matrix, Lines]] = {}
    none = _Picked(np.zeros((len(places),) * 2, dtype=np.int8))
    for choice in picked.values() or [none]:
        if choice.key not in made:
            lines = RoadLines(keys, positions, tuple(t.drawing for t in tables), choice.pick)
            made[choice.key] = (_matrix(operation, tables, choice, snapped, keys, climbed), lines)
    counted = Counter(choice.key for choice in picked.values())
    usual = counted.most_common(1)[0][0] if counted else none.key
    own = {truck: made[choice.key] for truck, choice in picked.items() if choice.key != usual}
    closed = {
        truck: _closed(made[choice.key][0], keys, operation.trucks[truck]) for truck, choice in picked.items()
    }
    return Travel(
        places=keys,
        positions=positions,
        matrix=made[usual][0],
        provenance=Provenance("roads", roads_note(operation, graph, snapped, climbed), estimated=False),
        by_truck={truck: matrix for truck, (matrix, _) in own.items()},
        lines=made[usual][1],
        lines_by_truck={truck: lines for truck, (_, lines) in own.items()},
        roads=base_roads(graph, positions),
        closed={truck: shut for truck, shut in closed.items() if shut},
        warnings=(*warnings, *_closed_warnings(closed, places)),
    )


def _snapped_tables(
    ways: Ways, masks: Sequence[Mask], places: tuple[Place, ...]
) -> tuple[Snapped, tuple[TravelWarning, ...], tuple[Drives, ...]]:
    """Places on the road, and the drives between them on each set of roads.

    Where forbidden turns keep everybody from a road that otherwise connects (a slip road at the edge of
    the extract), its places go to the next road.
    """
    avoid: frozenset[int] = frozenset()
    for _ in range(SNAP_TRIES):
        snapped, warnings = snap_places(ways, places, avoid)
        tables = tuple(drives(ways.graph, mask, snapped, ways.operation.roads) for mask in masks)
        joined = np.logical_or.reduce([_joined(np.isfinite(table.time_cs)) for table in tables])
        if joined.all():
            break
        avoid |= frozenset(snapped.edge[~joined].tolist())
    return snapped, warnings, tables


def _pick(masks: _Masks, operation: Operation, truck_id: str, places: tuple[Place, ...]) -> _Picked:
    """By pair: the roads at the legal gross, or at the posted limit of either end where that is less."""
    gross_kg = operation.trucks[truck_id].gvwr_kg
    pick = np.full((len(places),) * 2, masks.number(truck_id, gross_kg), dtype=np.int8)
    limited = [i for i, place in enumerate(places) if place.max_gross_kg < gross_kg]
    for i in sorted(limited, key=lambda i: -places[i].max_gross_kg):
        pick[i, :] = pick[:, i] = masks.number(truck_id, places[i].max_gross_kg)
    return _Picked(pick)


def _matrix(
    operation: Operation,
    tables: tuple[Drives, ...],
    choice: _Picked,
    snapped: Snapped,
    keys: tuple[str, ...],
    climbed: Sequence[Climbs] | None,
) -> Matrix:
    """Whole metres and seconds, rounded up, with the way to the road and the last mile at both ends."""
    rows, columns = np.indices(choice.pick.shape)
    time_cs = np.array([table.time_cs for table in tables])[choice.pick, rows, columns]
    length_dm = np.array([table.length_dm for table in tables])[choice.pick, rows, columns]
    off_m = snapped.distance_m[:, None] + snapped.distance_m[None, :]
    off_s = off_m / (operation.roads.off_road_km_per_h * M_PER_KM / S_PER_H)
    way = np.isfinite(time_cs)
    drive_s = np.full(way.shape, NO_WAY_S, dtype=np.int64)
    distance_m = np.full(way.shape, NO_WAY_M, dtype=np.int64)
    drive_s[way] = np.ceil(np.round(time_cs / CS + off_s, 6))[way].astype(np.int64)
    distance_m[way] = np.ceil(np.round(length_dm / DM + off_m, 6))[way].astype(np.int64)
    extra_s = last_miles_s(operation, keys)
    drive_s += extra_s[:, None] + extra_s[None, :]
    for table in (drive_s, distance_m):
        np.fill_diagonal(table, 0)
    if climbed is None:
        return Matrix(distance_m, drive_s)
    climb_m = np.array([table.climb_m for table in climbed])[choice.pick, rows, columns]
    return Matrix(distance_m, drive_s, climb_m)


def _climbed(operation: Operation, grid: Grid | None, tables: Sequence[Drives]) -> tuple[Climbs, ...] | None:
    """The climbs of each table. Raises FeedroundError when the grid lies elsewhere."""
    if grid is None:
        return None
    found = tuple(climbs(table.drawing, grid, operation.roads.coast_slope) for table in tables)
    if all(table.unknown > MOST_UNKNOWN for table in found):
        raise FeedroundError(
            f"{operation.roads.elevation}: the elevation grid has no heights for most of these roads: use "
            "one that covers the yards, or take elevation out"
        )
    return found


def _closed(matrix: Matrix, keys: tuple[str, ...], truck: Truck) -> frozenset[str]:
    """Places that a truck cannot drive to from where it starts, or not from there to where it ends."""
    way = matrix.distance_m < NO_WAY_M
    out = way[keys.index(place_key("depot", truck.start_depot))]
    back = way[:, keys.index(place_key("depot", truck.end_depot))]
    return frozenset(key for key, open_ in zip(keys, (out & back).tolist(), strict=True) if not open_)


def _joined(way: Mask) -> Mask:
    """Places in the largest group with a way there and back."""
    both = way & way.T
    np.fill_diagonal(both, True)
    found: Mask = both[int(np.argmax(both.sum(axis=1)))]
    return found


def _closed_warnings(
    closed: dict[str, frozenset[str]], places: tuple[Place, ...]
) -> tuple[TravelWarning, ...]:
    found = []
    for place in places:
        trucks = [truck for truck, shut in closed.items() if place.key in shut]
        if trucks:
            found.append(
                TravelWarning(
                    "no_road_for_truck",
                    place.key,
                    f"{place.name}: no road that {', '.join(trucks)} may drive on leads there and back "
                    "(legal gross, height, length, one-way streets and closed roads counted)",
                    "if a lighter truck may pass, give the yard a max_gross; if a tag is wrong, correct "
                    "the extract",
                )
            )
    return tuple(found)
