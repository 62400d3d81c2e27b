"""Driving distances and times between places, and how far they can be trusted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from routing.domain.errors import require
from routing.domain.operation import Assumption

Lines = Mapping[tuple[str, str], tuple[tuple[float, float], ...]]
"""Drawn geometry, (lon, lat) degrees, by pair of place keys."""


@dataclass(frozen=True)
class Leg:
    """One drive: whole metres and seconds, and the line of ``(lon, lat)`` degrees to draw.

    ``climb_m``: whole metres of climbing that descents do not give back, 0 where heights are not known.
    """

    distance_m: int
    drive_s: int
    geometry: tuple[tuple[float, float], ...]
    climb_m: int = 0


@dataclass(frozen=True)
class Matrix:
    """All pairs, shape (n, n), whole metres and seconds, row = from; ``climb_m`` where heights are known."""

    distance_m: NDArray[np.int64]
    drive_s: NDArray[np.int64]
    climb_m: NDArray[np.int64] | None = None

    def __post_init__(self) -> None:
        n = len(self.distance_m)
        for table in (self.distance_m, self.drive_s, self.climb_m):
            if table is None:
                continue
            require(table.shape == (n, n), f"a travel table is square, not {table.shape}")
            require(bool((table >= 0).all()), "a travel table holds no negative value")


@dataclass(frozen=True)
class Provenance:
    """How a travel table came about: shown on every output."""

    method: str
    note: str
    estimated: bool


@dataclass(frozen=True)
class TravelWarning:
    """Something about the drive to one place that a reader must know: ``place`` is its key."""

    code: str
    place: str
    wrong: str
    remedy: str = ""

    @property
    def text(self) -> str:
        """What is wrong, and what to do."""
        return ": ".join(part for part in (self.wrong, self.remedy) if part)


@dataclass(frozen=True)
class Travel:
    """Travel between ``places`` (keys of ``Operation.positions()``).

    ``matrix`` serves every truck that has no table of its own in ``by_truck``. ``lines`` holds drawn
    geometry by pair of keys; a pair without one is drawn straight. ``lines_by_truck`` holds it for trucks
    with a table of their own. ``roads`` are lines to draw under the routes, main roads first, with their
    class (0 main road, 1 minor road, 2 track). ``closed`` names the places a truck cannot drive to;
    ``warnings`` what a reader must know of single places. ``measured`` holds settings that nobody typed and
    that were measured instead, by their key in operation.toml: they go before the operation's own.
    """

    places: tuple[str, ...]
    positions: tuple[tuple[float, float], ...]
    matrix: Matrix
    provenance: Provenance
    by_truck: Mapping[str, Matrix] = field(default_factory=dict)
    lines: Lines = field(default_factory=dict)
    lines_by_truck: Mapping[str, Lines] = field(default_factory=dict)
    roads: Sequence[tuple[int, Sequence[tuple[float, float]]]] = ()
    closed: Mapping[str, frozenset[str]] = field(default_factory=dict)
    warnings: tuple[TravelWarning, ...] = ()
    measured: Mapping[str, Assumption] = field(default_factory=dict)

    def __post_init__(self) -> None:
        require(len(self.matrix.distance_m) == len(self.places), "one row a place")
        require(len(self.positions) == len(self.places), "one (lon, lat) a place")
        object.__setattr__(self, "_index", {key: i for i, key in enumerate(self.places)})

    def index(self, key: str) -> int:
        """The row of a place. Raises KeyError when it is not in the table."""
        found: int = self._index[key]  # type: ignore[attr-defined]
        return found

    def matrix_for(self, truck_id: str) -> Matrix:
        """The table that holds for a truck."""
        return self.by_truck.get(truck_id, self.matrix)

    def leg(self, truck_id: str, origin: str, destination: str) -> Leg:
        """One drive of a truck between two places."""
        i, j = self.index(origin), self.index(destination)
        table = self.matrix_for(truck_id)
        lines = self.lines_by_truck.get(truck_id, self.lines)
        line = lines.get((origin, destination)) or (self.positions[i], self.positions[j])
        climb_m = 0 if table.climb_m is None else int(table.climb_m[i, j])
        return Leg(int(table.distance_m[i, j]), int(table.drive_s[i, j]), line, climb_m)
