"""Tell which yards that were called in may not be fed today, and why."""

from __future__ import annotations

from routing.domain.operation import Operation
from routing.log.day import DayNow
from routing.need.ration import need_of_day
from routing.need.wording import sentence
from routing.planning.replan.needs import need_now


def refused_calls(operation: Operation, state: DayNow) -> dict[str, str]:
    """Why nothing may be given, by yard, and what would change that; in sentences.

    Only yards that were called in and are not fed yet, and only what a re-plan would not give them anything
    for (too cold, supers on, closed, skipped until word comes).
    """
    called = {y.yard_id for y in state.yards.values() if y.urgent and y.status != "done"}
    if not called & operation.yards.keys():
        return {}
    clock = operation.clock(state.day)
    found = {}
    for judged in need_of_day(operation, state.day):
        if judged.yard_id in called:
            need = need_now(judged, state.yards[judged.yard_id], operation, state.now, clock)
            if not need.doses:
                found[need.yard_id] = f"{sentence(need.reason or need.why)} {sentence(need.remedy)}"
    return found
