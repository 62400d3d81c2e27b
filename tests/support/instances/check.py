"""Judge routes on the terms of a published instance, knowing nothing of the planner.

Recomputes cost, loads, arrivals, durations and what was left out from the instance alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tests.support.instances.instance import Instance, Route


@dataclass(frozen=True)
class Verdict:
    """What routes cost on the instance's own terms, and every rule they break."""

    cost: float
    faults: tuple[str, ...]

    @property
    def feasible(self) -> bool:
        """Whether no rule is broken."""
        return not self.faults


@dataclass(frozen=True)
class _Point:
    """A place on a route: when work may begin there, and for how long it lasts."""

    site: int
    opens: int
    closes: int
    stays: int


def check(instance: Instance, routes: Sequence[Route]) -> Verdict:
    """Judge routes given by vehicle."""
    faults: list[str] = []
    cost = 0.0
    if len(routes) > len(instance.vehicles):
        faults.append(f"{len(routes)} routes for {len(instance.vehicles)} vehicles")
        return Verdict(float("inf"), tuple(faults))
    for number, route in enumerate(routes):
        if any(stop >= 0 for stop in route):
            spent, found = _route(instance, number, route)
            cost += spent
            faults += [f"vehicle {number + 1}: {fault}" for fault in found]
    seen = Counter(stop for route in routes for stop in route if stop >= 0)
    for i, client in enumerate(instance.clients):
        if seen[i] > 1:
            faults.append(f"client {client.label} is served {seen[i]} times")
        elif not seen[i] and client.prize is None:
            faults.append(f"client {client.label} is not served")
        elif not seen[i]:
            cost += client.prize or 0
    return Verdict(cost, tuple(faults))


def _route(instance: Instance, number: int, route: Route) -> tuple[float, list[str]]:
    vehicle = instance.vehicles[number]
    trips = _trips(route)
    faults = _load_faults(instance, number, trips)
    calls = [-1 - stop for stop in route if stop < 0]
    if len(calls) > vehicle.max_reloads:
        faults.append(f"loads again {len(calls)} times")
    if any(d not in vehicle.reload for d in calls):
        faults.append("loads again where it may not")
    points = _points(instance, number, route)
    distance = sum(int(instance.distance[a.site, b.site]) for a, b in pairwise(points))
    faults += _time_faults(instance, points, vehicle.max_duration)
    return vehicle.fixed + distance * vehicle.per_unit, faults


def _trips(route: Route) -> list[list[int]]:
    trips: list[list[int]] = [[]]
    for stop in route:
        if stop < 0:
            trips.append([])
        else:
            trips[-1].append(stop)
    return trips


def _load_faults(instance: Instance, number: int, trips: list[list[int]]) -> list[str]:
    vehicle, allowed = instance.vehicles[number], instance.allowed[number]
    faults = []
    for trip in trips:
        for kind, capacity in enumerate(vehicle.capacity):
            load = sum(instance.clients[i].demand[kind] for i in trip)
            if load > capacity:
                faults.append(f"carries {load} of {capacity}")
        faults += [
            f"may not serve client {instance.clients[i].label}"
            for i in trip
            if allowed is not None and i not in allowed
        ]
    return faults


def _points(instance: Instance, number: int, route: Route) -> list[_Point]:
    vehicle = instance.vehicles[number]
    stops = [-1 - vehicle.start, *route, -1 - vehicle.end]
    points = []
    for at, stop in enumerate(stops):
        if stop >= 0:
            client = instance.clients[stop]
            points.append(_Point(client.site, *client.window, client.service))
            continue
        depot = instance.depots[-1 - stop]
        opens, closes = depot.window
        if at in (0, len(stops) - 1):
            opens, closes = max(opens, vehicle.window[0]), min(closes, vehicle.window[1])
        released = 0
        for later in stops[at + 1 :]:
            if later < 0:
                break
            released = max(released, instance.clients[later].release)
        points.append(_Point(depot.site, max(opens, released), closes, 0))
    return points


def _time_faults(instance: Instance, points: list[_Point], most: int | None) -> list[str]:
    """Windows missed on the earliest schedule; and the shortest duration that ends as early."""
    faults = []
    now = points[0].opens
    for here, there in pairwise(points):
        now = max(now + here.stays + int(instance.distance[here.site, there.site]), there.opens)
        if now > there.closes:
            faults.append(f"reaches site {there.site} at {now}, after {there.closes}")
            now = there.closes
    latest = now
    for here, there in reversed(list(pairwise(points))):
        latest = latest - int(instance.distance[here.site, there.site]) - here.stays
        latest = min(latest, here.closes)
    if most is not None and not faults and now - latest > most:
        faults.append(f"takes {now - latest} of {most}")
    return faults
