"""Read a CSV file into rows of text, with the row numbers a spreadsheet shows."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from routing.files.problems.problems import Problems


@dataclass
class Sheet:
    """One table as text. ``rows`` holds row number and cells; ``sound`` False: rows may be missing."""

    file: str
    headers: list[str] = field(default_factory=list)
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    sound: bool = True


def tidy_header(text: str) -> str:
    """A header as compared: lower case, underscores for blanks."""
    return "_".join(text.strip().lower().split())


def read_csv(path: Path, problems: Problems) -> Sheet:
    """All rows of a CSV file. What is wrong goes to ``problems``; the sheet is then not ``sound``."""
    sheet = Sheet(path.name)
    text = read_text(path, problems)
    if text is None:
        sheet.sound = False
        return sheet
    if "\ufffd" in text:
        sheet.sound = False
    _fill(sheet, _records(text, sheet, problems))
    _check_separator(sheet, problems)
    return sheet


def read_text(path: Path, problems: Problems) -> str | None:
    """The text of a UTF-8 file, bad bytes replaced and reported; None when there is none to be had."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        problems.add(
            "unreadable_file",
            path.name,
            0,
            "",
            path.name,
            f"the file cannot be opened ({error.strerror or type(error).__name__})",
            "check that it is a file and that you may read it",
        )
        return None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = raw.count(b"\n", 0, error.start) + 1
        problems.add(
            "not_utf8",
            path.name,
            row,
            "",
            repr(raw[error.start : error.start + 4])[2:-1],
            "the file is not UTF-8 text",
            "save it again as CSV UTF-8",
        )
        wide = raw[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in raw
        return None if wide else raw.decode("utf-8-sig", errors="replace")


def _records(text: str, sheet: Sheet, problems: Problems) -> Iterator[tuple[int, list[str]]]:
    """Records with their numbers: a cell with a line break in it is still one row."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, skipinitialspace=True)
    row = 0
    while True:
        row += 1
        try:
            yield row, [cell.strip() for cell in next(reader)]
        except StopIteration:
            return
        except csv.Error as error:
            sheet.sound = False
            problems.add(
                "broken_quotes",
                sheet.file,
                row,
                "",
                f"line {reader.line_num}",
                f"the row cannot be read ({error}), nor what follows it",
                'close every quotation mark, and write "" for one inside a cell',
            )
            return


def _fill(sheet: Sheet, records: Iterator[tuple[int, list[str]]]) -> None:
    for row, cells in records:
        if not any(cells):
            continue
        if sheet.headers:
            sheet.rows.append((row, cells))
        else:
            sheet.headers = [tidy_header(cell) for cell in cells]


def _check_separator(sheet: Sheet, problems: Problems) -> None:
    if len(sheet.headers) == 1 and any(mark in sheet.headers[0] for mark in (";", "\t", "|")):
        sheet.sound = False
        problems.add(
            "wrong_separator",
            sheet.file,
            1,
            "",
            sheet.headers[0],
            "the cells are not separated by commas",
            "save it as CSV with commas",
        )
        sheet.headers, sheet.rows = [], []
