"""Read the sheets of an .xlsx workbook into the same rows of text as CSV files."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from routing.files.problems.problems import Problems
from routing.files.tables.spelling import EPOCH, EPOCH_1904
from routing.files.tables.tables import MOST_ROWS, Sheet, require_plain_file, tidy_header
from routing.files.tables.workbook_scan import MOST_COLUMNS, Scan, scan_sheet, unpacked_bytes

MOST_UNPACKED = 128 * 2**20


def read_workbook(path: Path, wanted: tuple[str, ...], problems: Problems) -> dict[str, Sheet]:
    """The wanted sheets by name, compared without case. A broken workbook is a problem, not an exception."""
    try:
        require_plain_file(path)
        if unpacked_bytes(path) > MOST_UNPACKED:
            problems.add(
                "too_large",
                path.name,
                0,
                "",
                path.name,
                f"the workbook unpacks to more than {MOST_UNPACKED // 2**20} MiB and was not read",
                "keep only the operation's sheets in it",
            )
            return {}
        return _sheets(path, wanted, problems)
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


def _sheets(path: Path, wanted: tuple[str, ...], problems: Problems) -> dict[str, Sheet]:
    # Only those who keep a workbook wait for the library that reads it.
    import openpyxl

    # openpyxl warns about styles and drop-down lists it drops; none of that matters here.
    with warnings.catch_warnings(), ZipFile(path) as archive:
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        epoch = EPOCH_1904 if book.epoch.year == EPOCH_1904.year else EPOCH
        found = {}
        try:
            for title in book.sheetnames:
                name, worksheet = tidy_header(title), book[title]
                if name in wanted and hasattr(worksheet, "iter_rows"):
                    # openpyxl keeps the name of the part that a sheet lies in to itself.
                    scan = scan_sheet(archive, str(vars(worksheet)["_worksheet_path"]))
                    found[name] = _sheet(f"{path.name}[{name}]", worksheet, scan, epoch, problems)
        finally:
            book.close()
        return found


def _sheet(file: str, worksheet: Any, scan: Scan, epoch: date, problems: Problems) -> Sheet:
    sheet = Sheet(file, merged=scan.merged)
    # The size that a file states for its sheets is often wrong.
    worksheet.reset_dimensions()
    sheet.fill(_rows(worksheet, scan), problems)
    if sheet.sound and scan.last_row > MOST_ROWS + 1:
        sheet.too_long(scan.last_row, problems)
    while sheet.headers and not sheet.headers[-1]:
        sheet.headers.pop()
    sheet.learn_spelling(comma_free=False, epoch=epoch)
    return sheet


def _rows(worksheet: Any, scan: Scan) -> Iterator[tuple[int, list[str]]]:
    """Rows with their numbers; a formula without a stored result stands as the formula."""
    limits = {"max_row": MOST_ROWS + 2} | ({"max_col": MOST_COLUMNS} if scan.wide else {})
    for row, values in enumerate(worksheet.iter_rows(values_only=True, **limits), start=1):
        cells = [cell_text(value) for value in values]
        for column, formula in scan.unstored.get(row, {}).items():
            if column < MOST_COLUMNS:
                cells += [""] * (column + 1 - len(cells))
                cells[column] = formula
        yield row, cells


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
