"""Put into words what a plan's decisions call for: notes of stops, reasons, cautions.

Every sentence of a plan is a function of the operation, the needs and the plan's own codes and figures, so it
can be worded again and compared.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop, Unserved
from routing.domain.ration import ReasonCode, YardNeed
from routing.planning.plan.cautions import plan_cautions
from routing.planning.plan.passed_over import compares
from routing.planning.plan.reasons import unserved_words

HAPPENED = frozenset({"engine", "lines_missing"})
"""Codes of warnings about the planning itself; nothing in the plan tells them again."""


def worded(operation: Operation, needs: Sequence[YardNeed], plan: Plan) -> Plan:
    """The plan with its notes, reasons and cautions in words; words it had before count for nothing.

    Warnings about the planning itself (``HAPPENED``) stay. A whole day's plan replaces none.
    Ids in the plan are those of ``operation``.
    """
    by_yard = {need.yard_id: need for need in needs}
    visited = {stop.place_id for route in plan.routes for stop in route.stops if stop.kind == "yard"}
    fed = [need for need in needs if need.yard_id in visited]
    told = replace(
        plan,
        routes=tuple(_noted(route, by_yard) for route in plan.routes),
        unserved=tuple(_explained(operation, left, by_yard, fed) for left in plan.unserved),
        warnings=tuple(warning for warning in plan.warnings if warning.code in HAPPENED),
        replaces="",
        changes=(),
        difference=None,
    )
    return plan_cautions(operation, needs, told)


def _noted(route: Route, needs: Mapping[str, YardNeed]) -> Route:
    return replace(route, stops=tuple(replace(stop, notes=_notes(stop, needs)) for stop in route.stops))


def _notes(stop: Stop, needs: Mapping[str, YardNeed]) -> tuple[str, ...]:
    if stop.kind != "yard" or stop.place_id not in needs:
        return ()
    return tuple(_yard_notes(stop, needs[stop.place_id]))


def _yard_notes(stop: Stop, need: YardNeed) -> Iterator[str]:
    yield from need.cautions
    if sum(pour.colonies for pour in stop.pour) < need.fed_colonies:
        yield "part of this yard; the rest is another visit"


def _explained(
    operation: Operation, left: Unserved, needs: Mapping[str, YardNeed], fed: Sequence[YardNeed]
) -> Unserved:
    """Reason and remedy put in; a comparison with one that is fed is the search's own, and stays."""
    if left.yard_id not in needs:
        return left
    reason, remedy = unserved_words(needs[left.yard_id], ReasonCode(left.reason_code), left.colonies)
    said = left.reason.removeprefix(f"{reason}; ")
    if said != left.reason and compares(operation, fed, said):
        reason = left.reason
    return replace(left, reason=reason, remedy=remedy)
