"""Fetch the lines of the legs that a plan drives, where travel came as tables without lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan, Stop
from routing.domain.travel import Lines, Travel, TravelWarning
from routing.travel.engine.engine import EngineSource
from routing.travel.server.matrix import Line, Source
from routing.travel.server.server import server_source

DrivenLeg = tuple[str, str, str]
"""Truck id, and the keys of the places it drives from and to."""

DECIMALS = 6
"""Of a degree: a tenth of a metre."""


def driven_legs(plan: Plan) -> tuple[DrivenLeg, ...]:
    """Every leg that a plan drives, once, in its order."""
    found: dict[DrivenLeg, None] = {}
    for route in plan.routes:
        for a, b in pairwise(_keys(route.stops)):
            if a != b:
                found[route.truck_id, a, b] = None
    return tuple(found)


def with_lines(
    operation: Operation, travel: Travel, legs: Iterable[DrivenLeg], folder: Path | None = None
) -> Travel:
    """Travel with the lines of some legs, asked of the server or engine that its tables came from.

    Other travel comes back as it was. A line that cannot be had leaves that leg and those after it
    straight, with a warning: a plan is not lost for its picture.
    """
    method = travel.provenance.method
    if method == "server":
        return _drawn(server_source(operation), operation, travel, legs)
    if method == "engine":
        with EngineSource(operation, folder) as engine:
            return _drawn(engine, operation, travel, legs)
    return travel


def drawn(
    operation: Operation, travel: Travel, plan: Plan, folder: Path | None = None
) -> tuple[Travel, Plan]:
    """Travel and plan with the lines of the legs that the plan drives, where they are yet to be had."""
    after = with_lines(operation, travel, driven_legs(plan), folder)
    return after, plan if after is travel else redrawn(plan, after)


def redrawn(plan: Plan, travel: Travel) -> Plan:
    """A plan whose legs have the lines of travel; nothing else in it changes."""
    routes = []
    for route in plan.routes:
        keys = _keys(route.stops)
        stops = list(route.stops)
        for i, (a, b) in enumerate(pairwise(keys), start=1):
            if a != b:
                line = travel.leg(route.truck_id, a, b).geometry
                stops[i] = replace(stops[i], leg=replace(stops[i].leg, geometry=_rounded(line)))
        routes.append(replace(route, stops=tuple(stops)))
    return replace(plan, routes=tuple(routes))


def _drawn(source: Source, operation: Operation, travel: Travel, legs: Iterable[DrivenLeg]) -> Travel:
    lines: dict[tuple[str, str], Line] = dict(travel.lines)
    own: dict[str, dict[tuple[str, str], Line]] = {
        t: dict(found) for t, found in travel.lines_by_truck.items()
    }
    warnings = travel.warnings
    for truck_id, a, b in legs:
        table = own.setdefault(truck_id, {}) if truck_id in travel.by_truck else lines
        if (a, b) in table:
            continue
        ends = travel.positions[travel.index(a)], travel.positions[travel.index(b)]
        try:
            line = source.line(*ends, operation.trucks[truck_id])
            if not all(abs(lon) <= 180 and abs(lat) <= 90 for lon, lat in line):
                raise source.fault("its line has a point that is nowhere on earth")
            table[a, b] = _rounded((ends[0], *line, ends[1]))
        except FeedroundError as error:
            text = f"Some legs are drawn straight, though their distances are of roads: {error}"
            warnings = (*warnings, TravelWarning("lines_missing", b, text))
            break
    by_truck: Mapping[str, Lines] = own
    return replace(travel, lines=lines, lines_by_truck=by_truck, warnings=warnings)


def _rounded(line: Line) -> Line:
    """Six decimals, and no point twice in a row."""
    points = [(round(lon, DECIMALS), round(lat, DECIMALS)) for lon, lat in line]
    kept = [point for before, point in pairwise(points) if point != before]
    return (points[0], *kept)


def _keys(stops: tuple[Stop, ...]) -> tuple[str, ...]:
    """The place of each stop; a break stands where the stop before it stood."""
    keys: list[str] = []
    for stop in stops:
        if stop.kind == "break" and keys:
            keys.append(keys[-1])
        else:
            keys.append(place_key("yard" if stop.kind == "yard" else "depot", stop.place_id))
    return tuple(keys)
