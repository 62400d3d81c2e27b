"""Write the season's feed record from the day log."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from routing.app.day_book import all_events
from routing.app.workflow import gather
from routing.domain.errors import FeedroundError
from routing.files.atomic import write_atomic
from routing.reports.feed_record import feed_record
from routing.reports.format import plural


def write_record(folder: Path, out: Path, first: date | None, last: date | None) -> str:
    """Write the record of the feeding dates from ``first`` to ``last``, and say how much is in it.

    Raises FeedroundError when nothing was noted or the file cannot be written.
    """
    operation = gather(folder).operation
    everything, _ = all_events(folder)
    events = [e for e in everything if (not first or e.day >= first) and (not last or e.day <= last)]
    text = feed_record(operation, events, everything)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(out, text)
    except OSError as error:
        raise FeedroundError(f"{out}: cannot write there ({error.strerror}): choose another --out") from error
    return f"{out}: {plural(text.count(chr(10)) - 1, 'feeding')} of {operation.name}"
