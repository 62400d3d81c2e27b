"""Say what a re-plan changed: what moved, what is dropped, and what each driver must be told now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from routing.domain.operation import Operation
from routing.domain.plan import Change, Plan, Route


def changes_between(
    operation: Operation, before: Plan, after: Plan, heading: Mapping[str, str], yards_left: set[str]
) -> tuple[Change, ...]:
    """What is different for the rest of the day, the orders to the drivers last.

    ``before`` is the plan that was driven, ``yards_left`` the yards not done yet. ``heading`` names the
    place (key) that each truck was driving to.
    """
    was, is_ = _served(before, yards_left), _served(after, yards_left)
    found = [*_moved(operation, was, is_), *_dropped(operation, was, after), *_reordered(was, is_)]
    found += _orders(operation, after, heading)
    return tuple(found)


def _served(plan: Plan, yards_left: set[str]) -> dict[str, list[str]]:
    """The yards of each truck in order, of those that are left."""
    return {route.truck_id: _yards(route, yards_left) for route in plan.routes}


def _yards(route: Route, yards_left: set[str]) -> list[str]:
    seen = dict.fromkeys(s.place_id for s in route.stops if s.kind == "yard" and s.place_id in yards_left)
    return list(seen)


def _trucks_of(served: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    trucks: dict[str, list[str]] = {}
    for truck_id, yards in served.items():
        for yard_id in yards:
            trucks.setdefault(yard_id, []).append(truck_id)
    return trucks


def _moved(
    operation: Operation, was: Mapping[str, Sequence[str]], now: Mapping[str, Sequence[str]]
) -> Iterator[Change]:
    before, after = _trucks_of(was), _trucks_of(now)
    for yard_id, trucks in after.items():
        name = operation.yards[yard_id].name
        for truck_id in trucks:
            if yard_id not in before:
                yield Change("added", f"{name} is added to {truck_id}", truck_id, yard_id)
            elif truck_id not in before[yard_id]:
                told = " and ".join(before[yard_id])
                yield Change("moved", f"{name} goes from {told} to {truck_id}", truck_id, yard_id)
        for truck_id in before.get(yard_id, ()):
            if truck_id not in trucks and truck_id in now:
                yield Change("taken", f"{name} is no longer {truck_id}'s", truck_id, yard_id)


def _dropped(operation: Operation, was: Mapping[str, Sequence[str]], after: Plan) -> Iterator[Change]:
    before = _trucks_of(was)
    for left in after.unserved:
        if left.yard_id in before:
            name = operation.yards[left.yard_id].name
            yield Change("dropped", f"{name} is dropped: {left.reason}. {left.remedy}", None, left.yard_id)


def _reordered(was: Mapping[str, Sequence[str]], now: Mapping[str, Sequence[str]]) -> Iterator[Change]:
    for truck_id, yards in now.items():
        told = [y for y in was.get(truck_id, ()) if y in yards]
        kept = [y for y in yards if y in told]
        if told != kept:
            yield Change("reordered", f"{truck_id} drives its yards in another order", truck_id)


def _orders(operation: Operation, after: Plan, heading: Mapping[str, str]) -> Iterator[Change]:
    for route in after.routes:
        first = next((s for s in route.stops if s.kind in ("yard", "refill", "wash", "end")), None)
        if first is None:
            continue
        yard = first.kind == "yard"
        place = operation.yards[first.place_id] if yard else operation.depots[first.place_id]
        kind = {"yard": "", "refill": "refill at ", "wash": "wash down at ", "end": "home to "}[first.kind]
        key = f"{'yard' if yard else 'depot'}:{first.place_id}"
        told = "goes on to" if heading.get(route.truck_id) == key else "next goes to"
        text = f"{route.truck_id} {told} {kind}{place.name}, there by {first.arrive:%H:%M}"
        yield Change("tell", text, route.truck_id, first.place_id)
