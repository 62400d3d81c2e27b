"""Carry what the roads allow into the plan: trucks that cannot reach a yard, and warnings about drives."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.errors import InputProblem
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan, Warning_
from routing.domain.travel import Travel

NOBODY = ("none: no road leads there",)
"""Stands in place of the trucks of a yard that no truck can reach; no truck has such an id."""


def only_reachable(operation: Operation, travel: Travel) -> Operation:
    """The operation with each yard open only to the trucks that have a road to it."""
    yards = dict(operation.yards)
    for yard_id, yard in operation.yards.items():
        key = place_key("yard", yard_id)
        shut = {truck for truck, places in travel.closed.items() if key in places}
        if shut:
            allowed = yard.trucks or tuple(operation.trucks)
            able = tuple(truck for truck in allowed if truck not in shut)
            yards[yard_id] = replace(yard, trucks=able or NOBODY)
    return replace(operation, yards=yards)


def road_problems(operation: Operation, travel: Travel) -> tuple[InputProblem, ...]:
    """What travel says of single places, as warnings about the tables they stand in."""
    found, positions = [], operation.positions()
    for warning in travel.warnings:
        kind, _, place_id = warning.place.partition(":")
        position = positions.get(warning.place)
        at = f"{position.lat:.5f}, {position.lon:.5f}" if position else place_id
        file = f"{kind}s.csv"
        found.append(InputProblem(warning.code, file, 0, "lat", at, warning.wrong, warning.remedy, "warning"))
    return tuple(found)


def with_travel_warnings(plan: Plan, travel: Travel) -> Plan:
    """The plan with what the travel table says of single places."""
    found = [Warning_(w.code, w.text, w.place.partition(":")[2]) for w in travel.warnings]
    return replace(plan, warnings=(*plan.warnings, *(w for w in found if w not in plan.warnings)))
