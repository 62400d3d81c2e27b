"""Read the tables of an operation from data frames, and give its files as data frames."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pandas as pd

from routing.domain.errors import FeedroundError
from routing.files.columns.all_tables import TABLES
from routing.files.columns.column import Table
from routing.files.columns.settings import SECTIONS
from routing.files.operation.sources import Sources
from routing.files.problems.problems import Problems
from routing.files.settings.file import Entry, SettingsSource
from routing.files.tables.tables import Sheet, tidy_header
from routing.files.tables.workbook import cell_text

SETTINGS = "settings"
NUMBERS = ("number", "whole")


class FrameSources(Sources):
    """Where each table comes from: a frame goes before a file, a setting before that of operation.toml.

    ``path``: folder or workbook for all that is not given; None: there is none.
    """

    def __init__(
        self,
        frames: Mapping[str, pd.DataFrame],
        settings: Mapping[str, Mapping[str, Any]],
        path: Path | None,
        problems: Problems,
    ) -> None:
        known = {table.name for table in TABLES}
        if strange := sorted(set(frames) - known):
            raise FeedroundError(f"{strange[0]}: no such table: there are {', '.join(sorted(known))}")
        if path is None:
            self.problems, self.folder, self.name = problems, Path(), "operation"
            self.sheets, self.files = {}, []
        else:
            super().__init__(path, problems)
        self.path, self.frames, self.given = path, frames, settings

    def settings(self) -> SettingsSource | None:
        """The settings given, and the keys of the file that they do not replace."""
        given = [
            Entry(section, key, _settled(value), 0)
            for section, keys in self.given.items()
            for key, value in keys.items()
        ]
        if self.path is None:
            return SettingsSource(SETTINGS, tuple(given), typed=True)
        source = super().settings()
        if source is None or not given:
            return source
        replaced = {_meant(entry) for entry in given}
        kept = [entry for entry in source.entries if _meant(entry) not in replaced]
        return SettingsSource(source.file, (*kept, *given), source.typed)

    def sheet(self, table: Table) -> Sheet:
        """The text of one table."""
        frame = self.frames.get(table.name)
        return super().sheet(table) if frame is None else _sheet(table, frame)

    def _missing(self, file: str, meaning: str) -> None:
        if self.path is not None:
            super()._missing(file, meaning)
            return
        what = f"the table is missing ({meaning.partition(':')[0]})"
        name = file.partition(".")[0]
        self.problems.add("missing_file", name, 0, "", "", what, f"give a frame {name}, or a folder to read")


def read_tables(path: Path) -> dict[str, pd.DataFrame]:
    """The tables of an operation as typed, by name: numbers where every cell is one, else text.

    Raises InputError where a file cannot be read.
    """
    problems = Problems()
    sources = Sources(path, problems)
    problems.raise_errors()
    made = {table.name: _frame(table, sources.sheet(table)) for table in TABLES}
    problems.raise_errors()
    return made


def _frame(table: Table, sheet: Sheet) -> pd.DataFrame:
    width = len(sheet.headers)
    rows = [[*cells, *[""] * width][:width] for _, cells in sheet.rows]
    frame = pd.DataFrame(rows, columns=pd.Index(sheet.headers), dtype=str)
    for header, (column, _) in table.by_header.items():
        if column.kind in NUMBERS and header in frame.columns:
            cells = frame[header]
            numbers = pd.to_numeric(cells.where(cells != ""), errors="coerce")
            if int(numbers.notna().sum()) == int((cells != "").sum()):
                frame[header] = numbers
    return frame


def _sheet(table: Table, frame: pd.DataFrame) -> Sheet:
    """A frame as rows of text. Row numbers are those that it would have as a file, the header in row 1."""
    rows = [
        (number, [_text(cell) for cell in row]) for number, row in enumerate(frame.itertuples(index=False), 2)
    ]
    headers = [tidy_header(str(name)) for name in frame.columns]
    return Sheet(table.name, headers, [(number, cells) for number, cells in rows if any(cells)])


def _text(cell: Any) -> str:
    """A cell as it would stand in a CSV file; what pandas knows as missing is empty."""
    if pd.api.types.is_scalar(cell) and pd.isna(cell):
        return ""
    if isinstance(cell, (datetime, date, time)):
        return cell_text(cell)
    # numpy's own numbers and truths, as Python's.
    return cell_text(cell.item() if hasattr(cell, "item") else cell)


def _settled(value: Any) -> Any:
    return value.item() if hasattr(value, "item") else value


def _meant(entry: Entry) -> tuple[str, str]:
    """Section and setting that a key stands for, in whatever unit."""
    table = SECTIONS.get(entry.section)
    found = table.by_header.get(entry.key) if table else None
    return entry.section, found[0].field if found else entry.key
