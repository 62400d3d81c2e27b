"""Word which yards are not fed and which need nothing, the same on map, sheet and terminal."""

from __future__ import annotations

from collections.abc import Iterable

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Unserved
from routing.reports.words.format import plural
from routing.reports.words.names import yard_name


def in_part(plan: Plan, left: Unserved) -> bool:
    """Whether a yard that is listed as left gets a part of its syrup today."""
    return any(s.kind == "yard" and s.place_id == left.yard_id for r in plan.routes for s in r.stops)


def not_fed(plan: Plan) -> str:
    """``Not fed today: 3 yards, 1 of them in part``: how many yards that are due go without all they need."""
    parts = sum(in_part(plan, left) for left in plan.unfed)
    told = f", {parts} of them in part" if parts else ""
    return f"Not fed today: {plural(len(plan.unfed), 'yard')}{told}"


def need_nothing(plan: Plan) -> str:
    """``Need nothing today: 2 yards``."""
    return f"Need nothing today: {plural(len(plan.nothing_due), 'yard')}"


def by_reason(operation: Operation, left: Iterable[Unserved]) -> list[tuple[list[str], str, str]]:
    """Names of yards left for the same reason, the reason, and the remedy."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for one in left:
        grouped.setdefault((one.reason, one.remedy), []).append(yard_name(operation, one.yard_id))
    return [(names, reason, remedy) for (reason, remedy), names in grouped.items()]
