"""Read a CSV file into rows of text, with the row numbers a spreadsheet shows."""

from __future__ import annotations

import csv
import io
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from routing.files.problems.problems import Problems
from routing.files.tables.spelling import EPOCH, PLAIN_SPELLING, Spelling, spelling_of

MOST_BYTES = 32 * 2**20
MOST_ROWS = 50_000
"""More than any operation has; what is larger is some other file, and would fill the memory."""

SEPARATORS = (",", ";", "\t")


@dataclass(frozen=True)
class Merged:
    """An area of merged cells: rows as a spreadsheet counts them, columns from 0."""

    ref: str
    first_row: int
    first_column: int
    last_column: int


@dataclass
class Sheet:
    """One table as text. ``rows`` holds row number and cells; ``sound`` False: rows may be missing."""

    file: str
    headers: list[str] = field(default_factory=list)
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    sound: bool = True
    spelling: Spelling = PLAIN_SPELLING
    merged: tuple[Merged, ...] = ()

    def fill(self, records: Iterable[tuple[int, list[str]]], problems: Problems) -> None:
        """Take the first row that is not empty as headers and the others as rows, up to ``MOST_ROWS``."""
        for row, cells in records:
            if not any(cells):
                continue
            if not self.headers:
                self.headers = [tidy_header(cell) for cell in cells]
            elif len(self.rows) < MOST_ROWS:
                self.rows.append((row, cells))
            else:
                self.too_long(row, problems)
                return

    def too_long(self, row: int, problems: Problems) -> None:
        """Note that the table goes on beyond what is read."""
        self.sound = False
        problems.add(
            "too_large",
            self.file,
            row,
            "",
            "",
            f"the table has more than {MOST_ROWS:,} rows; the rest was not read",
            "keep one operation in a folder, and remove rows that nobody uses",
        )

    def learn_spelling(self, *, comma_free: bool, epoch: date = EPOCH) -> None:
        """Find out from the cells how numbers and dates are spelled."""
        self.spelling = spelling_of((cells for _, cells in self.rows), comma_free=comma_free, epoch=epoch)


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
    separator = _separator(text)
    sheet.fill(_records(text, separator, sheet, problems), problems)
    sheet.learn_spelling(comma_free=separator != ",")
    _check_separator(sheet, problems)
    return sheet


def require_plain_file(path: Path) -> None:
    """Raise OSError for what is no plain file: a pipe or a device may never end."""
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(None, "it is a device, a pipe or a folder")


def read_text(path: Path, problems: Problems) -> str | None:
    """The text of a UTF-8 file, bad bytes replaced and reported; None when there is none to be had."""
    try:
        require_plain_file(path)
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        problems.add(
            "unreadable_file",
            path.name,
            0,
            "",
            path.name,
            f"the file cannot be opened ({error.strerror or type(error).__name__})",
            "check that it is a file you can read",
        )
        return None
    if len(raw) > MOST_BYTES:
        problems.add(
            "too_large",
            path.name,
            0,
            "",
            path.name,
            f"the file is larger than {MOST_BYTES // 2**20} MiB and was not read",
            "check that this is the right file",
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


def _separator(text: str) -> str:
    """What separates the cells: of comma, semicolon and tab the one that the header has most of."""
    header = next((line for line in text.splitlines() if line.strip(' ,;\t"')), "")
    return max(SEPARATORS, key=header.count)


def _records(text: str, separator: str, sheet: Sheet, problems: Problems) -> Iterator[tuple[int, list[str]]]:
    """Records with their numbers: a cell with a line break in it is still one row."""
    lines = io.StringIO(text, newline="")
    reader = csv.reader(lines, strict=True, skipinitialspace=separator != "\t", delimiter=separator)
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
                f"this row and the rest cannot be read ({error})",
                'close every quotation mark, and write "" for one inside a cell',
            )
            return


def _check_separator(sheet: Sheet, problems: Problems) -> None:
    if len(sheet.headers) == 1 and "|" in sheet.headers[0]:
        sheet.sound = False
        problems.add(
            "wrong_separator",
            sheet.file,
            1,
            "",
            sheet.headers[0],
            "the cells are separated by upright bars",
            "save it as CSV with commas or semicolons",
        )
        sheet.headers, sheet.rows = [], []
