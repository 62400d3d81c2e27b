"""Read the sheets of an .xlsx workbook into the same rows of text as CSV files."""

from __future__ import annotations

import warnings
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from routing.files.problems.problems import Problems
from routing.files.tables.tables import Sheet, tidy_header


def read_workbook(path: Path, wanted: tuple[str, ...], problems: Problems) -> dict[str, Sheet]:
    """The wanted sheets by name, compared without case. A broken workbook is a problem, not an exception."""
    # Only those who keep a workbook wait for the library that reads it.
    import openpyxl

    try:
        # openpyxl warns about styles and drop-down lists it drops; none of that matters here.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
            try:
                return {
                    name: _sheet(f"{path.name}[{name}]", book[title])
                    for title in book.sheetnames
                    if (name := tidy_header(title)) in wanted and hasattr(book[title], "iter_rows")
                }
            finally:
                book.close()
    except Exception as error:
        # A damaged archive fails in many libraries, each with exceptions of its own.
        reason = error.strerror if isinstance(error, OSError) and error.strerror else type(error).__name__
        problems.add(
            "broken_workbook",
            path.name,
            0,
            "",
            path.name,
            f"the workbook cannot be read ({reason})",
            "open it in a spreadsheet program and save it again as .xlsx",
        )
        return {}


def _sheet(file: str, worksheet: Any) -> Sheet:
    sheet = Sheet(file)
    # The size that a file states for its sheets is often wrong.
    worksheet.reset_dimensions()
    for row, values in enumerate(worksheet.iter_rows(values_only=True), start=1):
        cells = [cell_text(value) for value in values]
        if not any(cells):
            continue
        if sheet.headers:
            sheet.rows.append((row, cells))
        else:
            while cells and not cells[-1]:
                cells.pop()
            sheet.headers = [tidy_header(cell) for cell in cells]
    return sheet


def cell_text(value: object) -> str:
    """A cell as it would stand in a CSV file: ISO dates, HH:MM times, plain numbers, yes and no."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(round(value)) if value.is_integer() and abs(value) < 1e15 else repr(round(value, 12))
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(" ", "minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.isoformat("minutes")
    if isinstance(value, timedelta):
        minutes = round(value.total_seconds() / 60)
        return f"{minutes // 60:02d}:{minutes % 60:02d}"
    return str(value).strip()
