"""Change single cells of a CSV table and leave every other letter of it as it is."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator

from routing.domain.errors import FeedroundError
from routing.files.tables.tables import tidy_header

_CELL = re.compile(r' *"(?:[^"]|"")*" *(?=,|\r|\n|$)|[^,\r\n]*')


def edited_cell(text: str, id_column: str, row_id: str, column: str, value: str) -> str:
    """The text of a table with one cell changed: in the row of an id, under a column.

    Raises FeedroundError when there is no such cell, or the table is written so that it cannot be changed
    safely.
    """
    rows = list(_rows(text))
    headers = [tidy_header(_plain(text[a:b])) for a, b in rows[0]] if rows else []
    if id_column not in headers or column not in headers:
        raise FeedroundError(f"there is no column {column} to change")
    key, at = headers.index(id_column), headers.index(column)
    found = [row for row in rows[1:] if len(row) > max(key, at) and _plain(text[slice(*row[key])]) == row_id]
    if len(found) != 1:
        raise FeedroundError(f"there is no one row of {row_id} to change")
    start, end = found[0][at]
    after = text[:start] + value + text[end:]
    _check(text, after, column, value)
    return after


def _rows(text: str) -> Iterator[list[tuple[int, int]]]:
    """For each row with anything in it, where its cells begin and end."""
    row: list[tuple[int, int]] = []
    at = 1 if text.startswith("\ufeff") else 0
    while at < len(text):
        cell = _CELL.match(text, at)
        assert cell is not None
        row.append(cell.span())
        at = cell.end()
        if text[at : at + 1] == ",":
            at += 1
            if at < len(text):
                continue
        if any(text[a:b].strip() for a, b in row):
            yield row
        row = []
        at += 2 if text[at : at + 2] == "\r\n" else 1


def _plain(cell: str) -> str:
    """A cell without its quotation marks."""
    bare = cell.strip()
    return bare[1:-1].replace('""', '"').strip() if len(bare) > 1 and bare[0] == bare[-1] == '"' else bare


def _check(before: str, after: str, column: str, value: str) -> None:
    """Read as the program reads tables, nothing but that cell may differ."""
    old, new = (list(csv.reader(io.StringIO(t, newline=""), skipinitialspace=True)) for t in (before, after))
    changed = [
        (a, b)
        for row, other in zip(old, new, strict=False)
        for a, b in zip(row, other, strict=False)
        if a != b
    ]
    alike = [len(row) for row in old] == [len(row) for row in new]
    if not alike or len(changed) > 1 or (changed and changed[0][1].strip() != value):
        raise FeedroundError(f"the column {column} cannot be changed safely: change it by hand")
