"""The operation as a date begins: the files, and everything noted before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.log.carry.calls import called_in
from routing.log.carry.fed import fed_since
from routing.log.carry.supplies import supplies_at
from routing.log.corrections import in_force
from routing.log.events import Event


def morning_of(
    operation: Operation,
    events: Iterable[Event],
    plans: Mapping[str, Plan],
    day: date,
    *,
    today: bool = True,
) -> Operation:
    """The operation on the morning of a date: what was noted on the days before counts.

    Parameters
    ----------
    operation
        As the files have it.
    events
        All events of the log, in any order, corrections among them; those of later days do not count.
    plans
        By id, those that events name; needed for days whose trucks left without a note of their start.
    day
        The date.
    today
        Whether what was gauged, mixed and delivered on the date itself, before the first truck left, counts
        too, and which yards were called in for it. A plan of the date wants it; the fold of that day's events
        brings it in by itself.
    """
    known = [event for event in in_force(events) if event.day <= day]
    before = [event for event in known if event.day < day]
    groups = fed_since(operation, before)
    carried = replace(supplies_at(operation, known, plans, day, today=today), groups=groups)
    return called_in(carried, known, day) if today else carried
