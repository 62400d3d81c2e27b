"""Hold a published routing instance in its own terms: clients, depots, vehicles, a table of distances.

All figures are whole numbers: distances, times and money are multiplied by ``scale`` on reading, so that a
cost divided by ``scale`` is in the units of the paper.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

ALWAYS = (0, 10**8)
Route = tuple[int, ...]
"""Indices of clients in order; ``-1 - d`` is a call at depot ``d`` to load again."""


class UnreadableInstance(Exception):
    """A file that is not of a known form, or that asks for what no reader here can state."""


@dataclass(frozen=True)
class Client:
    """One order: ``site`` is its row in the table, ``label`` its number in the file.

    ``prize`` None means that it must be served; else leaving it costs the prize.
    """

    site: int
    demand: tuple[int, ...]
    window: tuple[int, int] = ALWAYS
    service: int = 0
    release: int = 0
    prize: int | None = None
    label: int = 0


@dataclass(frozen=True)
class Vehicle:
    """One vehicle: ``start`` and ``end`` are depots by position, ``reload`` where it may load again."""

    capacity: tuple[int, ...]
    start: int = 0
    end: int = 0
    fixed: float = 0.0
    per_unit: float = 1.0
    max_duration: int | None = None
    reload: tuple[int, ...] = ()
    max_reloads: int = 10**6
    window: tuple[int, int] = ALWAYS


@dataclass(frozen=True)
class Depot:
    """Where vehicles start, end and load; ``label`` is its number in the file."""

    site: int
    window: tuple[int, int] = ALWAYS
    label: int = 0


@dataclass(frozen=True, eq=False)
class Instance:
    """A published instance; ``allowed[v]`` the clients (by position) vehicle v may serve, None: all."""

    name: str
    scale: int
    distance: NDArray[np.int64]
    depots: tuple[Depot, ...]
    clients: tuple[Client, ...]
    vehicles: tuple[Vehicle, ...]
    allowed: tuple[frozenset[int] | None, ...]

    def units(self, cost: float) -> float:
        """A cost in the units of the paper."""
        return cost / self.scale

    def with_fleet(self, vehicles: tuple[Vehicle, ...]) -> Instance:
        """The same clients with another fleet, any vehicle for any client."""
        return replace(self, vehicles=vehicles, allowed=(None,) * len(vehicles))

    def first(self, count: int) -> Instance:
        """The instance cut to its first clients, as is customary with the larger Solomon sets."""
        return replace(self, clients=self.clients[:count], allowed=(None,) * len(self.vehicles))


ROUNDINGS: dict[str, int] = {"round": 1, "trunc1": 10, "exact": 1000}
"""How distances become whole: to the nearest, cut after one decimal, to the nearest thousandth."""


def whole(values: object, rounding: str) -> NDArray[np.int64]:
    """Distances or times as whole numbers under a rounding, scaled by ``ROUNDINGS[rounding]``."""
    scaled = np.asarray(values, dtype=np.float64) * ROUNDINGS[rounding]
    if rounding == "trunc1":
        return np.floor(scaled + 1e-9).astype(np.int64)
    return np.floor(scaled + 0.5).astype(np.int64)


def euclidean(points: object, rounding: str) -> NDArray[np.int64]:
    """The table of straight distances between points ``(x, y)``."""
    xy = np.asarray(points, dtype=np.float64)
    difference = xy[:, None, :] - xy[None, :, :]
    return whole(np.hypot(difference[..., 0], difference[..., 1]), rounding)


def pieces(client: Client, sizes: tuple[int, ...]) -> list[Client]:
    """A client's order cut into pieces, the largest size first as often as it fits.

    For problems that allow an order to be split between vehicles (one commodity only).
    """
    left, cut = client.demand[0], []
    for size in sorted(sizes, reverse=True):
        while left >= size:
            cut.append(replace(client, demand=(size,)))
            left -= size
    return [*cut, replace(client, demand=(left,))] if left else cut
