"""Which yards were called in for a date: they must be fed on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from routing.domain.operation import Operation
from routing.log.events import Event
from routing.log.facts import Fed, Urgent


def called_in(operation: Operation, events: Iterable[Event], day: date) -> Operation:
    """The operation with every yard marked that was called in for the date and is not fed on it yet.

    ``events``: those in force, of any date; a later call for a yard replaces the words of an earlier one.
    """
    words: dict[str, str] = {}
    for event in sorted(events, key=lambda event: (event.at, event.seq)):
        if event.day != day:
            continue
        if isinstance(event.fact, Urgent):
            words[event.fact.yard_id] = event.fact.words or "called in"
        elif isinstance(event.fact, Fed):
            words.pop(event.fact.yard_id, None)
    yards = {
        yard_id: replace(yard, called_in=words[yard_id]) if yard_id in words else yard
        for yard_id, yard in operation.yards.items()
    }
    return replace(operation, yards=yards) if words.keys() & operation.yards.keys() else operation
