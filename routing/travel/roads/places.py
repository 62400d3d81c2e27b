"""Bring places to the road: which edge, how far off, and what a reader must know of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from routing.domain.errors import InputError, InputProblem
from routing.domain.operation import Operation
from routing.domain.travel import TravelWarning
from routing.travel.graph.arcs import Mask, Vehicle, passable, reachable
from routing.travel.graph.cache import key_of, recall, remember
from routing.travel.graph.graph import RoadGraph
from routing.travel.roads.snap import RADII_M, Snapped, Snapper
from routing.travel.roads.words import far, pace

TOO_FAR_M = 5_000.0
"""A place farther from every road than this is not in the extract, or its coordinates are wrong."""

ISLAND_M = 50.0
"""A road that leads nowhere is spoken of when it is nearer than the one taken by more than this."""


@dataclass(frozen=True)
class Place:
    """One place of the table. ``max_gross_kg``: what may stand there, so what drives to it weighs no more."""

    key: str
    name: str
    lat: float
    lon: float
    max_gross_kg: float


class Ways:
    """Passable and reachable edges of a graph on one day, each set worked out once."""

    def __init__(self, graph: RoadGraph, operation: Operation) -> None:
        self.graph, self.operation = graph, operation
        self.wet = operation.roads.ground == "wet"
        self._reachable: dict[bytes, Mask] = {}

    def passable(self, truck_id: str, gross_kg: float) -> Mask:
        """Edges a truck may use at a mass: its plated mass always, sizes and axle load where known."""
        truck = self.operation.trucks[truck_id]
        gross_kg = min(gross_kg, truck.gvwr_kg)
        vehicle = Vehicle(
            gross_kg, truck.gvwr_kg, truck.height_m, truck.length_m, truck.width_m, truck.axle_kg
        )
        return passable(self.graph, vehicle, wet=self.wet)

    def any_truck(self, gross_kg: float) -> Mask:
        """Edges that at least one truck may use at a mass."""
        if not self.operation.trucks:
            return passable(self.graph, Vehicle(), wet=self.wet)
        found: Mask = np.logical_or.reduce(
            [self.passable(truck, gross_kg) for truck in self.operation.trucks]
        )
        return found

    def why_not(self, edge: int, gross_kg: float) -> tuple[str, str]:
        """Why no truck reaches an edge, and what to do: wet ground, limits, or a road that joins no other."""
        if self.wet and self._dry.lead_to(edge, gross_kg):
            return "is closed by wet ground, or the way to it is", "wait for the ground to dry"
        best = self._dry if self.wet else self
        if best.reachable(passable(self.graph, Vehicle(), wet=False))[edge]:
            return (
                "is closed to these trucks by a limit of weight or size, or the way to it is",
                "if a lighter truck may pass, give the yard a max_gross",
            )
        return (
            "does not connect with the other roads",
            "check the coordinates, and gates and gaps in the extract",
        )

    def lead_to(self, edge: int, gross_kg: float) -> bool:
        """Whether some truck reaches an edge at a mass."""
        return bool(self.reachable(self.any_truck(gross_kg))[edge])

    @cached_property
    def _dry(self) -> Ways:
        """The same trucks on a dry day."""
        roads = replace(self.operation.roads, ground="dry")
        return Ways(self.graph, replace(self.operation, roads=roads))

    def reachable(self, open_edges: Mask) -> Mask:
        """Of passable edges, those on the connected network."""
        key = np.packbits(open_edges).tobytes()
        if key not in self._reachable:
            self._reachable[key] = self._kept(key, open_edges)
        return self._reachable[key]

    def _kept(self, packed: bytes, open_edges: Mask) -> Mask:
        """What was reachable when it was asked before, also by another run."""
        digest = self.graph.meta.get("digest")
        if digest is None:
            return reachable(self.graph, open_edges, wet=self.wet)
        key = key_of(("reachable", str(digest), str(self.wet), packed))
        kept = recall(key)
        if kept is not None:
            return np.unpackbits(kept["mask"], count=len(open_edges)).astype(bool)
        found = reachable(self.graph, open_edges, wet=self.wet)
        remember(key, {"mask": np.packbits(found)})
        return found


def places_of(operation: Operation) -> tuple[Place, ...]:
    """Depots first, then yards, as ``Operation.positions``."""
    found = []
    for key, position in operation.positions().items():
        kind, _, place_id = key.partition(":")
        place = operation.yards[place_id] if kind == "yard" else operation.depots[place_id]
        limit = operation.yards[place_id].max_gross_kg if kind == "yard" else None
        gross = float("inf") if limit is None else limit
        found.append(Place(key, place.name or place_id, position.lat, position.lon, gross))
    return tuple(found)


def snap_places(
    ways: Ways, places: Sequence[Place], avoid: frozenset[int] = frozenset()
) -> tuple[Snapped, tuple[TravelWarning, ...]]:
    """The road of each place, that some truck can reach, and warnings. Edges to ``avoid`` take no place.

    Raises InputError with every place farther than 5 km from any such road.
    """
    snapped, nearest = _snap_all(ways, places, avoid)
    problems = [
        _too_far(ways.operation, p, float(d))
        for p, d in zip(places, snapped.distance_m, strict=True)
        if d > TOO_FAR_M
    ]
    if problems:
        raise InputError(problems)
    limit_m = ways.operation.roads.snap_limit_m
    warnings = []
    for i, place in enumerate(places):
        off_m = float(snapped.distance_m[i])
        off = far(ways.operation, off_m)
        at = f"{snapped.lat[i]:.5f}, {snapped.lon[i]:.5f}"
        if off_m > float(nearest.distance_m[i]) + ISLAND_M:
            why, remedy = ways.why_not(int(nearest.edge[i]), place.max_gross_kg)
            warnings.append(
                TravelWarning(
                    "island_road",
                    place.key,
                    f"{place.name}: the nearest road ({far(ways.operation, nearest.distance_m[i])}) {why}; "
                    f"planned to the nearest point that can be reached, {at}, {off} from it",
                    remedy,
                )
            )
        elif off_m > limit_m:
            warnings.append(
                TravelWarning(
                    "far_from_road",
                    place.key,
                    f"{place.name} ({place.lat:.5f}, {place.lon:.5f}) lies {off} from the nearest "
                    f"road of the network, at {at}; the rest is planned at "
                    f"{pace(ways.operation, ways.operation.roads.off_road_km_per_h)}",
                    "check the coordinates",
                )
            )
    return snapped, tuple(warnings)


def _snap_all(ways: Ways, places: Sequence[Place], avoid: frozenset[int]) -> tuple[Snapped, Snapped]:
    """Snapped places, and where the nearest road of any kind is."""
    groups: dict[bytes, tuple[Mask, list[int]]] = {}
    for i, place in enumerate(places):
        mask = ways.any_truck(place.max_gross_kg)
        groups.setdefault(np.packbits(mask).tobytes(), (mask, []))[1].append(i)
    n = len(places)
    found = Snapped(np.full(n, -1), np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n))
    lat, lon = np.array([p.lat for p in places]), np.array([p.lon for p in places])
    nearest = Snapper(ways.graph, np.ones(ways.graph.edges, dtype=bool)).snap(lat, lon)
    for mask, rows in groups.values():
        usable = ways.reachable(mask).copy()
        usable[sorted(avoid)] = False
        part = Snapper(ways.graph, usable).snap(lat[rows], lon[rows])
        for name in ("edge", "share", "distance_m", "lon", "lat"):
            getattr(found, name)[rows] = getattr(part, name)
    return found, nearest


def _too_far(operation: Operation, place: Place, distance_m: float) -> InputProblem:
    kind, _, place_id = place.key.partition(":")
    beyond = RADII_M[-1]
    how_far = far(operation, distance_m) if np.isfinite(distance_m) else f"more than {far(operation, beyond)}"
    return InputProblem(
        code="far_from_road",
        file=f"{kind}s.csv",
        row=0,
        column="lat",
        value=f"{place.lat:.5f}, {place.lon:.5f}",
        wrong=f"{kind} {place_id} ({place.name}) lies {how_far} from the nearest road a truck can reach",
        remedy='correct the coordinates, use an extract that covers it, or plan with method = "straight"',
    )
