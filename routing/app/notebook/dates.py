"""Read a date as people write it in Python: text, date, datetime or pandas Timestamp."""

from __future__ import annotations

from datetime import date, datetime

from routing.domain.errors import FeedroundError

Date = str | date
"""A feeding date: ``2026-09-28``, or any kind of date."""


def a_date(value: Date) -> date:
    """The date meant. Raises FeedroundError for text that is none."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        raise FeedroundError(f"{value!r} is not a date: write it like 2026-09-28") from None
