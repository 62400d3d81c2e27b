"""Change a plan in one place: find every leaf of it by path, and put another value there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop

Path = tuple[str | int, ...]


def leaves(value: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Every value in a plan that holds no other, with the way to it."""
    if is_dataclass(value):
        for f in fields(value):
            yield from leaves(getattr(value, f.name), (*path, f.name))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, (*path, key))
    elif isinstance(value, tuple):
        for i, item in enumerate(value):
            yield from leaves(item, (*path, i))
    else:
        yield path, value


def with_leaf(value: Any, path: Path, new: Any) -> Any:
    """The same with another value at the end of a path."""
    if not path:
        return new
    head, rest = path[0], path[1:]
    if isinstance(value, dict):
        return value | {head: with_leaf(value[head], rest, new)}
    if isinstance(value, tuple):
        i = int(head)
        return (*value[:i], with_leaf(value[i], rest, new), *value[i + 1 :])
    return replace(value, **{str(head): with_leaf(getattr(value, str(head)), rest, new)})


def edit_route(plan: Plan, truck_id: str, change: Callable[[Route], Route]) -> Plan:
    """The plan with the route of a truck changed."""
    routes = tuple(change(route) if route.truck_id == truck_id else route for route in plan.routes)
    return replace(plan, routes=routes)


def edit_stop(plan: Plan, place_id: str, change: Callable[[Stop], Stop], kind: str = "yard") -> Plan:
    """The plan with every stop of a kind at a place changed."""

    def edited(stop: Stop) -> Stop:
        return change(stop) if (stop.place_id, stop.kind) == (place_id, kind) else stop

    assert any((s.place_id, s.kind) == (place_id, kind) for r in plan.routes for s in r.stops)
    routes = tuple(replace(route, stops=tuple(map(edited, route.stops))) for route in plan.routes)
    return replace(plan, routes=routes)


def edit_item(operation: Operation, mapping: str, key: str, **changes: Any) -> Operation:
    """The operation with one yard, truck, feeder, syrup or depot changed."""
    items = dict(getattr(operation, mapping))
    items[key] = replace(items[key], **changes)
    return replace(operation, **{mapping: items})


def edit_group(operation: Operation, yard_id: str, group: str = "all", **changes: Any) -> Operation:
    """The operation with one group of colonies changed."""
    groups = tuple(
        replace(g, **changes) if (g.yard_id, g.group) == (yard_id, group) else g for g in operation.groups
    )
    assert groups != operation.groups
    return replace(operation, groups=groups)


def edit_settings(operation: Operation, section: str, **changes: Any) -> Operation:
    """The operation with settings of one section changed."""
    return replace(operation, **{section: replace(getattr(operation, section), **changes)})
