"""Read the dates and clock times of the command line."""

from __future__ import annotations

from datetime import date, datetime

import typer

from routing.domain.errors import FeedroundError


def a_day(text: str) -> datetime:
    """The beginning of a date as ``2026-09-28``. Raises BadParameter for anything else."""
    return _read(text, "%Y-%m-%d", "date", "2026-09-28: year, month and day")


def a_time(text: str) -> datetime:
    """A local time as ``11:20``. Raises BadParameter for anything else."""
    return _read(text, "%H:%M", "time", "11:20, from 00:00 to 23:59")


def _read(text: str, form: str, what: str, like: str) -> datetime:
    try:
        return datetime.strptime(text.strip(), form)
    except ValueError:
        raise typer.BadParameter(f"{text!r} is not a {what}: write it like {like}") from None


def a_span(first: datetime | None, last: datetime | None) -> tuple[date | None, date | None]:
    """The dates from first to last. Raises FeedroundError when they are the wrong way round."""
    if first is not None and last is not None and first > last:
        raise FeedroundError(
            f"--from {first:%Y-%m-%d} is after --to {last:%Y-%m-%d}: there is no day between; swap them"
        )
    return first.date() if first else None, last.date() if last else None
