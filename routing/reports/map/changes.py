"""Write the part of the panel that tells what a re-plan changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.reports.map.panel import LeftYard
from routing.reports.map.rows import Row
from routing.reports.words.changes import COST, LABELS, difference_text, left_out, of_truck, told_trucks
from routing.reports.words.truck_style import TruckStyle, style_of


@dataclass(frozen=True)
class ChangeLine:
    """One change. ``shows`` is the key of the marker to show, empty where there is none."""

    label: str
    text: str
    shows: str = ""
    mark: str = ""


@dataclass(frozen=True)
class ChangeGroup:
    """What one crew is told (``style`` None: the office)."""

    style: TruckStyle | None
    lines: tuple[ChangeLine, ...]


def change_groups(
    operation: Operation, plan: Plan, rows: Sequence[Sequence[Row]], unfed: Sequence[LeftYard]
) -> list[ChangeGroup]:
    """What changed, by crew; nothing for a plan that replaces none."""
    stops = {(row.truck_id, row.place_id): row for route in rows for row in route if row.kind == "yard"}
    markers = {yard.yard_id: yard.shows for yard in unfed}
    found = []
    for truck_id in told_trucks(plan) if plan.replaces else ():
        lines = []
        for change in of_truck(plan, truck_id):
            row = stops.get((truck_id or "", change.place_id or ""))
            shows = row.key if row else markers.get(change.place_id or "", "")
            lines.append(
                ChangeLine(LABELS.get(change.code, "CHANGED"), change.text, shows, row.mark if row else "")
            )
        for names, reason in left_out(operation, plan, truck_id):
            lines.append(ChangeLine(LABELS["dropped"], f"{names}: {reason}"))
        found.append(ChangeGroup(style_of(operation, truck_id) if truck_id else None, tuple(lines)))
    if costs := difference_text(plan):
        found.append(ChangeGroup(None, (ChangeLine(COST, costs),)))
    return found
