"""The day log as data frames: what was poured, and what was planned against it."""

from __future__ import annotations

from collections.abc import Iterable

import pandas as pd

from routing.domain.operation import Operation
from routing.log.corrections import in_force
from routing.log.day import DayNow
from routing.log.events import Event
from routing.log.facts import Fed
from routing.reports.frames.frame import frame_of

POURED = {
    "date": "date",
    "at": "time",
    "truck_id": "str",
    "yard_id": "str",
    "group": "str",
    "feeder_id": "str",
    "syrup_id": "str",
    "lot": "str",
    "colonies": "int64",
    "volume_l": "float64",
    "tank_id": "str",
    "pails": "int64",
    "as_planned": "bool",
    "event_id": "str",
}
AGAINST_PLAN = {
    "date": "date",
    "yard_id": "str",
    "group": "str",
    "feeder_id": "str",
    "syrup_id": "str",
    "due_colonies": "int64",
    "fed_colonies": "int64",
    "expected_l": "float64",
    "poured_l": "float64",
    "status": "str",
    "truck_ids": "str",
}


def poured(operation: Operation, events: Iterable[Event]) -> pd.DataFrame:
    """Every pour that is in force, in the order of time; ``as_planned``: nobody measured it."""
    rows = (
        (
            event.day, event.at, event.truck_id, event.fact.yard_id, row.group, row.feeder_id, row.syrup_id,
            row.lot, row.colonies, row.volume_l, row.tank_id or "", row.pails, event.fact.as_planned,
            event.event_id,
        )
        for event in in_force(events)
        if isinstance(event.fact, Fed)
        for row in event.fact.pours
    )  # fmt: skip
    return frame_of(rows, POURED, operation.timezone)


def against_plan(days: Iterable[DayNow]) -> pd.DataFrame:
    """A row a day, yard and group that was due or fed: what was planned for it and what it got.

    ``expected_l`` is what the plan gives to the colonies fed; ``poured_l`` less ``expected_l`` is the slip.
    """
    rows = (
        (
            state.day, yard.yard_id, g.group, g.feeder_id, g.syrup_id, g.due_colonies, g.fed_colonies,
            g.expected_l, g.poured_l, yard.status, " ".join(yard.truck_ids),
        )
        for state in days
        for yard in state.yards.values()
        for g in yard.groups
        if g.due_colonies or g.fed_colonies or g.poured_l
    )  # fmt: skip
    return frame_of(rows, AGAINST_PLAN)
