"""Read an operation as a date begins: its files, and what the day log holds of the days before."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path

from routing.domain.operation import Operation
from routing.files.log.log import DayLog, read_log
from routing.log.carry.morning import morning_of
from routing.log.carry.supplies import without_start
from routing.log.corrections import in_force
from routing.log.events import Event


def read_morning(
    folder: Path, operation: Operation, day: date, upto: int | None = None, *, today: bool = True
) -> tuple[Operation, int]:
    """The operation on the morning of a date, and the number of the last event it was worked out from.

    ``upto``: only the events up to this number count, as when a plan was made that is checked now (0: none).
    ``today``: with what was gauged, mixed and delivered on the date itself before the first truck left.
    Raises DayLogError for a log that cannot be read.
    """
    log = read_log(folder) if upto != 0 else None
    if log is None:
        return operation, 0
    with log:
        events = tuple(e for e in log.events(last=day) if upto is None or e.seq <= upto)
        known = morning_from(log, operation, events, day, today=today)
    return known, max((event.seq for event in events), default=0)


def morning_from(
    log: DayLog, operation: Operation, events: Iterable[Event], day: date, *, today: bool = True
) -> Operation:
    """The operation on the morning of a date, from events of an open log."""
    events = tuple(events)
    plans = log.plans_of(without_start(e for e in in_force(events) if e.day < day))
    return morning_of(operation, events, plans, day, today=today)
