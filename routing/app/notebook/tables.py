"""Need, travel and the day log of an operation as data frames."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd

from routing.app.notebook.dates import Date, a_date
from routing.app.notebook.operation import ReadOperation
from routing.app.workflow.day_book import all_events
from routing.app.workflow.record import recorded
from routing.app.workflow.workflow import need_of, on_morning
from routing.domain.errors import FeedroundError
from routing.log.fold.fold import day_now
from routing.reports.frames import log as log_frames
from routing.reports.frames import need as need_frames
from routing.travel.choose import travel_for


def need_table(operation: ReadOperation, day: Date) -> pd.DataFrame:
    """What every yard needs on a date, and why; what the day log says was fed before counts.

    Parameters
    ----------
    operation
        As ``read_operation`` returns it.
    day
        The feeding date.

    Returns
    -------
    DataFrame
        A row a yard: ``volume_l`` to give, ``days_of_stores`` left, ``reason_code`` where nothing is given.
    """
    on = a_date(day)
    needed = need_of(on_morning(operation.gathered, on), on)
    return need_frames.need(needed.gathered.operation, needed.needs)


def travel_table(operation: ReadOperation) -> pd.DataFrame:
    """Driving distances and times between all places, by truck.

    Parameters
    ----------
    operation
        As ``read_operation`` returns it; its settings say how drives are found.

    Returns
    -------
    DataFrame
        A row a truck, origin and destination with ``distance_m`` and ``drive_s``; how they were found
        stands in ``attrs["method"]`` and ``attrs["note"]``.
    """
    table = travel_for(operation.operation, operation.path)
    found = need_frames.travel(operation.operation, table)
    found.attrs = {"method": table.provenance.method, "note": table.provenance.note}
    return found


def log_pours(operation: ReadOperation, first: Date | None = None, last: Date | None = None) -> pd.DataFrame:
    """Every pour in the day log of an operation.

    Parameters
    ----------
    operation
        As ``read_operation`` returns it from a folder or workbook.
    first, last
        Feeding dates to begin and end with, both included; None: all.

    Returns
    -------
    DataFrame
        A row a pour with ``at``, ``yard_id``, ``group``, ``lot``, ``volume_l``; corrected and withdrawn
        notes are left out.

    Raises
    ------
    FeedroundError
        When nothing was noted.
    """
    events, _ = all_events(_folder(operation), *_span(first, last))
    return log_frames.poured(operation.operation, events)


def feed_record(
    operation: ReadOperation, first: Date | None = None, last: Date | None = None
) -> pd.DataFrame:
    """The feed record, as ``feedround record`` writes it.

    Parameters
    ----------
    operation
        As ``read_operation`` returns it from a folder or workbook.
    first, last
        Feeding dates to begin and end with, both included; None: all.

    Returns
    -------
    DataFrame
        A row a pour, with product, lot, supplier, yard and ``quantity`` in the operation's own ``unit``.

    Raises
    ------
    FeedroundError
        When nothing was noted.
    """
    return recorded(operation.operation, _folder(operation), *_span(first, last))


def planned_against_real(
    operation: ReadOperation, first: Date | None = None, last: Date | None = None
) -> pd.DataFrame:
    """What was planned and what was poured, group by group and day by day.

    Parameters
    ----------
    operation
        As ``read_operation`` returns it from a folder or workbook.
    first, last
        Feeding dates to begin and end with, both included; None: all.

    Returns
    -------
    DataFrame
        A row a date, yard and group with ``due_colonies``, ``fed_colonies``, ``expected_l`` (the plan's
        litres for the colonies fed) and ``poured_l``.

    Raises
    ------
    FeedroundError
        When nothing was noted.
    """
    events, plans = all_events(_folder(operation), *_span(first, last))
    ends = {event.day: event.at for event in sorted(events, key=lambda event: event.at)}
    return log_frames.against_plan(
        day_now(operation.operation, day, plans, events, end) for day, end in sorted(ends.items())
    )


def _folder(operation: ReadOperation) -> Path:
    if operation.path is None:
        raise FeedroundError("tables in memory have no day log: read the operation from its folder")
    return operation.path


def _span(first: Date | None, last: Date | None) -> tuple[date | None, date | None]:
    return (None if first is None else a_date(first), None if last is None else a_date(last))
