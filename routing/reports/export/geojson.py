"""Write a plan as GeoJSON (RFC 7946): stops and unserved yards as points, drives as lines."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop
from routing.reports.export.rows import Cell, stop_rows, unserved_rows

Point = tuple[float, float]
DECIMALS = 6


def geojson(operation: Operation, plan: Plan) -> dict[str, Any]:
    """A FeatureCollection in WGS84, longitude first, six decimals, without a crs member.

    Every route is one line, cut where it crosses the antimeridian; unserved yards are points with
    their reason. There are no polygons, so that the right-hand rule has nothing to bind.
    """
    features = [_line(plan, route) for route in plan.routes]
    for route in plan.routes:
        rows = stop_rows(operation, plan, route)
        features += [_stop(stop, row) for stop, row in zip(route.stops, rows, strict=True)]
    for row in unserved_rows(operation, plan):
        yard = operation.yards.get(str(row["yard_id"]))
        if yard is not None:
            place = (yard.position.lon, yard.position.lat)
            features.append(_feature("Point", _position(place), {"feature": "unserved"} | _properties(row)))
    return {"type": "FeatureCollection", "features": [f for f in features if f is not None]}


def geojson_text(operation: Operation, plan: Plan) -> str:
    """The FeatureCollection as the text of a file."""
    return json.dumps(geojson(operation, plan), ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _feature(kind: str, coordinates: Any, properties: dict[str, Any]) -> dict[str, Any]:
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def _stop(stop: Stop, row: dict[str, Cell]) -> dict[str, Any]:
    return _feature("Point", _position((stop.lon, stop.lat)), {"feature": "stop"} | _properties(row))


def _properties(row: dict[str, Cell]) -> dict[str, Any]:
    return {k: v if v is None or isinstance(v, str | int | float) else v.isoformat() for k, v in row.items()}


def _line(plan: Plan, route: Route) -> dict[str, Any] | None:
    """The whole drive of one truck; None where it never moves."""
    parts = [part for part in cut_at_antimeridian(route_points(route)) if len(part) > 1]
    if not parts:
        return None
    properties = {
        "feature": "route",
        "plan_id": plan.plan_id,
        "replaces_plan": plan.replaces,
        "date": plan.date.isoformat(),
        "truck_id": route.truck_id,
        "distance_m": route.totals.distance_m,
        "drive_s": route.totals.drive_s,
        **_change(plan, route),
    }
    lines = [[_position(point) for point in part] for part in parts]
    if len(lines) == 1:
        return _feature("LineString", lines[0], properties)
    return _feature("MultiLineString", lines, properties)


def _change(plan: Plan, route: Route) -> dict[str, float]:
    """What the truck takes more (below zero: less) than was left of the plan before, for a re-plan."""
    own = plan.difference.trucks.get(route.truck_id) if plan.replaces and plan.difference else None
    return {} if own is None else {f"change_{name}": value for name, value in asdict(own).items()}


def route_points(route: Route) -> list[Point]:
    """The (lon, lat) line a truck drives, straight where no road line is known, without doubles."""
    points: list[Point] = []
    for stop in route.stops:
        here = (stop.lon, stop.lat)
        points += [*(stop.leg.geometry if points else ()), here]
    rounded = [(round(lon, DECIMALS), round(lat, DECIMALS)) for lon, lat in points]
    return [point for i, point in enumerate(rounded) if i == 0 or point != rounded[i - 1]]


def cut_at_antimeridian(points: Sequence[Point]) -> list[list[Point]]:
    """The line in parts, none of which crosses 180 degrees (RFC 7946, 3.1.9)."""
    parts: list[list[Point]] = [[]]
    for point in points:
        if parts[-1]:
            lon, lat = parts[-1][-1]
            if abs(point[0] - lon) > 180:
                edge = 180.0 if lon > 0 else -180.0
                run = point[0] + 2 * edge - lon
                at = lat + (point[1] - lat) * ((edge - lon) / run if run else 0.0)
                parts[-1].append((edge, at))
                parts.append([(-edge, at)])
        parts[-1].append(point)
    return [_without_doubles(part) for part in parts]


def _without_doubles(points: Iterable[Point]) -> list[Point]:
    kept: list[Point] = []
    for point in points:
        if not kept or point != kept[-1]:
            kept.append(point)
    return kept


def _position(point: Point) -> list[float]:
    return [round(point[0], DECIMALS), round(point[1], DECIMALS)]
