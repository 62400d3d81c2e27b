"""Write the season's feed record from the day log."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path

import pandas as pd

from routing.app.workflow.day_book import all_events
from routing.app.workflow.workflow import gather
from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.files.writing.staged import put_file, refuse_input_name
from routing.reports.export.feed_record import feed_record, feed_record_csv
from routing.reports.words.format import plural


def write_record(
    folder: Path, out: Path, first: date | None, last: date | None, *, replace: bool = False
) -> str:
    """Write the record of the feeding dates from ``first`` to ``last``, and say how much is in it.

    Raises FeedroundError when nothing was noted, and when the file there holds more feedings (unless
    ``replace``), is not an earlier record as it was written, or cannot be written.
    """
    refuse_input_name(out)
    operation = gather(folder).operation
    record = recorded(operation, folder, first, last)
    found = len(record)
    if not replace and (held := _held(out)) > found:
        raise FeedroundError(
            f"{out} holds {plural(held, 'feeding')}, and this would put {found} in their place: nothing was "
            "written. Name another file with --out, check --from and --to, or use --replace"
        )
    put_file(out, "record", feed_record_csv(record))
    return f"{out}: {plural(found, 'feeding')} of {operation.name}"


def recorded(operation: Operation, folder: Path, first: date | None, last: date | None) -> pd.DataFrame:
    """The record of the feeding dates from ``first`` to ``last``; None: of all.

    Raises FeedroundError when nothing was noted.
    """
    everything, _ = all_events(folder)
    events = [e for e in everything if (not first or e.day >= first) and (not last or e.day <= last)]
    return feed_record(operation, events, everything)


def _held(out: Path) -> int:
    """The rows of the record that is there already; what cannot be read as a table holds none."""
    try:
        return _rows(out.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, csv.Error):
        return 0


def _rows(text: str) -> int:
    return max(0, sum(1 for row in csv.reader(io.StringIO(text)) if any(row)) - 1)
