"""Read instances and solutions in VRPLIB's text form, with the sections that later sets added."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from tests.support.instances.instance import (
    ALWAYS,
    ROUNDINGS,
    Client,
    Depot,
    Instance,
    Route,
    UnreadableInstance,
    Vehicle,
    euclidean,
    whole,
)

UNSTATED = ("mutually_exclusive_group", "backhaul", "vehicles_max_distance")


def read_vrplib(path: Path, rounding: str) -> Instance:
    """Read a ``.vrp`` file. Raises UnreadableInstance where it cannot be read or stated."""
    import vrplib  # type: ignore[import-untyped]

    try:
        data = vrplib.read_instance(path, compute_edge_weights=False)
    except Exception as error:
        raise UnreadableInstance(f"{path}: not in VRPLIB's form ({error})") from error
    asked = [name for name in UNSTATED if name in data]
    if asked:
        raise UnreadableInstance(f"{path}: a day of rounds cannot state {', '.join(asked)}")
    if "dimension" not in data or "demand" not in data:
        raise UnreadableInstance(f"{path}: no DIMENSION or no demands")
    return _Reader(data, rounding).instance()


class _Reader:
    """One file's sections, and what they say when they are absent."""

    def __init__(self, data: Mapping[str, Any], rounding: str) -> None:
        self.data, self.rounding, self.scale = data, rounding, ROUNDINGS[rounding]
        self.size = int(data["dimension"])
        found = data.get("depot")
        self.depots = [int(d) for d in np.atleast_1d(found)] if found is not None else [0]
        self.demand = np.asarray(data["demand"]).reshape(self.size, -1)
        self.clients = [i for i in range(self.size) if i not in set(self.depots)]

    def _times(self, key: str) -> list[int]:
        value = self.data.get(key, 0)
        column = np.full(self.size, value) if np.ndim(value) == 0 else np.asarray(value)
        return [int(t) for t in whole(column, self.rounding)]

    def _windows(self) -> list[tuple[int, int]]:
        if "time_window" not in self.data:
            return [ALWAYS] * self.size
        return [(int(a), int(b)) for a, b in whole(self.data["time_window"], self.rounding)]

    def _prizes(self) -> list[int | None]:
        """A prize of nought marks a client that must be served."""
        if "prize" not in self.data:
            return [None] * self.size
        return [int(p) or None for p in whole(self.data["prize"], self.rounding)]

    def instance(self) -> Instance:
        data = self.data
        if "edge_weight" in data:
            distance = whole(data["edge_weight"], self.rounding)
        else:
            distance = euclidean(data["node_coord"], self.rounding)
        windows, service = self._windows(), self._times("service_time")
        release, prizes = self._times("release_time"), self._prizes()
        clients = tuple(
            Client(i, tuple(int(q) for q in self.demand[i]), windows[i], service[i], release[i], prizes[i], i)
            for i in self.clients
        )
        vehicles = self._vehicles(windows)
        return Instance(
            name=str(data.get("name", "")).strip(),
            scale=self.scale,
            distance=distance,
            depots=tuple(Depot(d, windows[d], d) for d in self.depots),
            clients=clients,
            vehicles=vehicles,
            allowed=self._allowed(len(vehicles)),
        )

    def _column(self, key: str, count: int, default: Any) -> list[Any]:
        value = self.data.get(key, default)
        return [value] * count if np.ndim(value) == 0 and not isinstance(value, list) else list(value)

    def _count(self) -> int:
        """Vehicles as told, else by the name (``-k5``), else enough for one client each."""
        data = self.data
        if "vehicles" in data:
            return int(data["vehicles"])
        for key in ("capacity", "vehicles_depot"):
            if np.ndim(data.get(key, 0)):
                return len(data[key])
        return len(self.clients)

    def _vehicles(self, windows: list[tuple[int, int]]) -> tuple[Vehicle, ...]:
        data, count = self.data, self._count()
        capacity = data.get("capacity", int(self.demand.sum()))
        rows = np.broadcast_to(np.asarray(capacity), (count,)) if np.ndim(capacity) == 0 else capacity
        homes = [int(d) - 1 for d in self._column("vehicles_depot", count, self.depots[0] + 1)]
        fixed = self._column("vehicles_fixed_cost", count, 0)
        per_unit = self._column("vehicles_unit_distance_cost", count, 1)
        longest = self._column("vehicles_max_duration", count, -1)
        reloads = self._column("vehicles_max_reloads", count, 10**6)
        calls = data.get("vehicles_reload_depot", [[]] * count)
        found = []
        for v in range(count):
            home = self.depots.index(homes[v])
            found.append(
                Vehicle(
                    capacity=tuple(int(q) for q in np.atleast_1d(rows[v])),
                    start=home,
                    end=home,
                    fixed=float(fixed[v]) * self.scale,
                    per_unit=float(per_unit[v]),
                    max_duration=None if longest[v] < 0 else int(whole(longest[v], self.rounding)),
                    reload=tuple(self.depots.index(int(d) - 1) for d in np.atleast_1d(calls[v])),
                    max_reloads=int(reloads[v]),
                    window=windows[homes[v]],
                )
            )
        return tuple(found)

    def _allowed(self, count: int) -> tuple[frozenset[int] | None, ...]:
        rows = self.data.get("vehicles_allowed_clients")
        if rows is None:
            return (None,) * count
        place = {site: i for i, site in enumerate(self.clients)}
        return tuple(frozenset(place[int(c) - 1] for c in row if int(c) - 1 in place) for row in rows)


def read_solution(path: Path, instance: Instance) -> tuple[Route, ...]:
    """The routes of a ``.sol`` file by vehicle, in the order of the file.

    Sites are numbered from nought, depots included; a depot within a route is a call to load again.
    """
    client = {c.label: i for i, c in enumerate(instance.clients)}
    depot = {d.label: i for i, d in enumerate(instance.depots)}
    routes: list[Route] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        head, _, tail = line.partition(":")
        if head.strip().lower().startswith("route"):
            numbers = [int(n) for n in tail.split()]
            routes.append(tuple(client[n] if n in client else -1 - depot[n] for n in numbers))
    return tuple(routes)
