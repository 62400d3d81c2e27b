"""Bring numbers, dates and times, as people and spreadsheets spell them, into the one form that is parsed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

EPOCH = date(1899, 12, 30)
"""Day 0 of spreadsheet dates (ECMA-376 part 1, 18.17.4.1, date base 1900, counted from 1 March 1900)."""
EPOCH_1904 = date(1904, 1, 1)
FIRST_SERIAL, LAST_SERIAL = date(2000, 1, 1), date(2100, 12, 31)

_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_GROUPED = re.compile(r"[+-]?\d{1,3}(\.\d{3})+", re.ASCII)
_SLASHED = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})(?: 0?0:00(?::00)?)?", re.ASCII)
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})(?: 0?0:00(?::00)?)?", re.ASCII)
_SERIAL = re.compile(r"\d{5}", re.ASCII)
_HALF_DAY = re.compile(r"(\d{1,2})(?::(\d{2}))?(?::00)?\s*([ap])\.?m\.?", re.ASCII | re.IGNORECASE)
_ERRORS = ("#REF!", "#N/A", "#DIV/0!", "#VALUE!", "#NAME?", "#NULL!", "#NUM!")


class Bad(Exception):
    """A cell that cannot be used: the code, what is wrong, and what to do."""

    def __init__(self, code: str, wrong: str, remedy: str) -> None:
        super().__init__(wrong)
        self.code, self.wrong, self.remedy = code, wrong, remedy


@dataclass(frozen=True)
class Spelling:
    """How one table spells its values.

    ``decimal_comma``: 4,5 is four and a half. ``month_first``: 9/28/2026 is 28 September; None where no date
    of the table tells. ``epoch``: day 0 of dates stored as numbers.
    """

    decimal_comma: bool = False
    month_first: bool | None = None
    epoch: date = EPOCH

    def plain(self, kind: str, text: str) -> str:
        """The cell of a column of this kind in plain spelling. Raises ``Bad`` where it is ambiguous."""
        if text.startswith("="):
            raise Bad(
                "formula_without_value",
                "the cell holds a formula, and the file does not hold its result",
                "open the file in a spreadsheet program and save it again, or type the value",
            )
        if text in _ERRORS:
            raise Bad(
                "cell_error", "the formula of this cell failed", "correct the formula, or type the value"
            )
        if kind in ("number", "whole") and self.decimal_comma:
            return _point_for_comma(text)
        if kind == "date":
            return self._iso(text)
        if kind == "dates":
            return ";".join(self._iso(part.strip()) for part in text.split(";"))
        return _clock(text) if kind in ("time", "windows") else text

    def _iso(self, text: str) -> str:
        if found := _SLASHED.fullmatch(text):
            return _date_text(text, int(found[3]), *self._month_and_day(text, int(found[1]), int(found[2])))
        if found := _DOTTED.fullmatch(text):
            return _date_text(text, int(found[3]), int(found[2]), int(found[1]))
        if _SERIAL.fullmatch(text):
            day = self.epoch + timedelta(days=int(text))
            return day.isoformat() if FIRST_SERIAL <= day <= LAST_SERIAL else text
        return text

    def _month_and_day(self, text: str, first: int, second: int) -> tuple[int, int]:
        if second > 12 or first == second or (first <= 12 and self.month_first is True):
            return first, second
        if first > 12 or self.month_first is False:
            return second, first
        raise Bad(
            "ambiguous_date",
            "this could be month/day or day/month, and no other date in the table tells which",
            "write it as year-month-day, like 2026-09-12",
        )


PLAIN_SPELLING = Spelling()


def spelling_of(rows: Iterable[list[str]], *, comma_free: bool, epoch: date = EPOCH) -> Spelling:
    """How a table spells its values, from all its cells.

    ``comma_free``: cells are not separated by commas, so that a comma may be a decimal comma.
    """
    comma = False
    month_first: set[bool] = set()
    for cells in rows:
        for cell in cells:
            if not cell or not cell[-1].isdigit():
                continue
            if comma_free and "," in cell and _DECIMAL_COMMA.fullmatch(cell):
                comma = True
            elif "/" in cell and (found := _SLASHED.fullmatch(cell)):
                first, second = int(found[1]), int(found[2])
                if (first > 12) != (second > 12):
                    month_first.add(second > 12)
    return Spelling(comma, month_first.pop() if len(month_first) == 1 else None, epoch)


def _point_for_comma(text: str) -> str:
    if _DECIMAL_COMMA.fullmatch(text):
        return text.replace(",", ".")
    if _GROUPED.fullmatch(text):
        whole = text.replace(".", "")
        raise Bad(
            "not_a_number",
            "a point in a table with decimal commas could be a decimal point or mark thousands",
            f"write {whole}, or {text.replace('.', ',', 1)} with a decimal comma",
        )
    return text


def _date_text(text: str, year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return text


def _clock(text: str) -> str:
    """Times with am and pm as HH:MM."""

    def on_24_hours(found: re.Match[str]) -> str:
        hour, minute = int(found[1]), int(found[2] or 0)
        if not 1 <= hour <= 12 or minute > 59:
            return found[0]
        return f"{hour % 12 + 12 * (found[3].lower() == 'p'):02d}:{minute:02d}"

    return _HALF_DAY.sub(on_24_hours, text)
