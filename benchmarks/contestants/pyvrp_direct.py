"""Solve a published instance with PyVRP as its users do: its own reader, its own defaults.

Nothing of the planner is imported, so that any version of PyVRP in any environment can be asked. Where
PyVRP cannot read the file the instance is stated through its ``Model``.
"""

from __future__ import annotations

import time
from collections import Counter
from typing import Any

import pyvrp

from benchmarks.contestants.apart import Task, search, taken
from tests.support.instances.instance import Instance, Route, Vehicle

ROUND_FUNCS = {"round": "round", "trunc1": "dimacs", "exact": "exact"}


def main() -> None:
    """Solve the task on standard input."""
    task = taken()
    data, vehicles, sites = _read(task) or _stated(task.instance)

    def work() -> list[Route]:
        stop = Processor(task.seconds)
        result = pyvrp.solve(data, stop, seed=task.seed, collect_stats=False)
        return _routes(task.instance, data, result.best, vehicles, sites)

    search(task, work)


class Processor:
    """Stops as ``pyvrp.stop.MaxRuntime`` does, by processor time: PyVRP has one thread."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self.began: float | None = None

    def __call__(self, best_cost: float) -> bool:
        """Whether the time is used up."""
        if self.began is None:
            self.began = time.process_time()
        return time.process_time() - self.began > self.seconds


def _read(task: Task) -> tuple[Any, list[list[int]], list[int]] | None:
    """PyVRP's own reading of the file, its vehicles by type, and the site of each of its locations."""
    if task.file is None or not task.file.endswith(".vrp"):
        return None
    data = pyvrp.read(task.file, ROUND_FUNCS[task.rounding])
    vehicles = [[int(n) for n in kind.name.split(",")] for kind in data.vehicle_types()]
    return data, vehicles, list(range(data.num_locations))


def _stated(instance: Instance) -> tuple[Any, list[list[int]], list[int]]:
    """The instance through PyVRP's model: depots, then clients."""
    model = pyvrp.Model()
    sites = [d.site for d in instance.depots] + [c.site for c in instance.clients]
    apart = hasattr(model, "add_location")
    places = [model.add_location(0, 0) if apart else None for _ in sites]

    def at(i: int) -> dict[str, Any]:
        return {"location": places[i]} if apart else {"x": 0, "y": 0}

    depots, first, times = [], len(instance.depots), _money_times(instance)
    for i, depot in enumerate(instance.depots):
        depots.append(model.add_depot(**at(i), tw_early=depot.window[0], tw_late=depot.window[1]))
    clients = []
    for i, client in enumerate(instance.clients, start=first):
        clients.append(
            model.add_client(
                **at(i), delivery=list(client.demand), service_duration=client.service,
                tw_early=client.window[0], tw_late=client.window[1], release_time=client.release,
                prize=(client.prize or 0) * times, required=client.prize is None,
            )
        )  # fmt: skip
    ends = places if apart else [*depots, *clients]
    for i, a in enumerate(ends):
        for j, b in enumerate(ends):
            length = int(instance.distance[sites[i], sites[j]])
            model.add_edge(a, b, distance=length, duration=length)
    kinds = Counter(instance.vehicles)
    for vehicle, count in kinds.items():
        _add_vehicles(model, vehicle, count, depots, times)
    of_kind = [[n for n, v in enumerate(instance.vehicles) if v == kind] for kind in kinds]
    return model.data(), of_kind, sites


def _money_times(instance: Instance) -> int:
    """PyVRP counts money in whole numbers: by what all money is multiplied to make prices whole."""
    prices = {v.per_unit for v in instance.vehicles}
    whole = (n for n in (1, 10, 100) if all(abs(p * n - round(p * n)) < 1e-9 for p in prices))
    times = next(whole, None)
    if times is None:
        raise SystemExit("PyVRP counts money in whole numbers")
    return times


def _add_vehicles(model: Any, vehicle: Vehicle, count: int, depots: list[Any], times: int) -> None:
    more: dict[str, Any] = {}
    if vehicle.max_duration is not None:
        more["shift_duration"] = vehicle.max_duration
    if vehicle.reload:
        more |= {"reload_depots": [depots[d] for d in vehicle.reload], "max_reloads": vehicle.max_reloads}
    model.add_vehicle_type(
        count, list(vehicle.capacity), depots[vehicle.start], depots[vehicle.end],
        round(vehicle.fixed * times), vehicle.window[0], vehicle.window[1],
        unit_distance_cost=round(vehicle.per_unit * times), **more,
    )  # fmt: skip


def _routes(
    instance: Instance, data: Any, solution: Any, vehicles: list[list[int]], sites: list[int]
) -> list[Route]:
    """The routes by vehicle, in the instance's own terms."""
    client_at = {c.site: i for i, c in enumerate(instance.clients)}
    found: list[Route] = [()] * len(instance.vehicles)
    free = [list(numbers) for numbers in vehicles]
    for route in solution.routes():
        stops = _stops_by_trip(route) if hasattr(route, "trips") else _stops_by_activity(data, route)
        row = [-1 - at if at < len(instance.depots) else client_at[sites[at]] for at in stops]
        found[free[route.vehicle_type()].pop(0)] = tuple(row)
    return found


def _stops_by_trip(route: Any) -> list[int]:
    """Locations on a route but its start and end, where routes are made of trips (PyVRP 0.13)."""
    stops: list[int] = []
    for number, trip in enumerate(route.trips()):
        stops += [trip.start_depot()] if number else []
        stops += trip.visits()
    return stops


def _stops_by_activity(data: Any, route: Any) -> list[int]:
    """Locations on a route but its start and end, where routes are made of activities (PyVRP 0.14)."""
    acts = [data.depot(a.idx) if a.is_depot() else data.client(a.idx) for a in list(route)[1:-1]]
    return [act.location for act in acts]


if __name__ == "__main__":
    main()
