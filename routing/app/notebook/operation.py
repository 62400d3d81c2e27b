"""Read an operation, from files or from data frames, and change parts of it in memory."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd

from routing.app.notebook.dates import Date, a_date
from routing.app.workflow.workflow import Gathered
from routing.domain.operation import Operation
from routing.files.operation.folder import read_sources
from routing.files.operation.frames import FrameSources, read_tables
from routing.files.problems.problems import Problems
from routing.need.syrup import resolve
from routing.reports.frames.frame import frame_of
from routing.reports.words.format import plural

Tables = Mapping[str, pd.DataFrame]
Settings = Mapping[str, Mapping[str, Any]]

WARNINGS = {
    "code": "str",
    "file": "str",
    "row": "int64",
    "column": "str",
    "value": "str",
    "wrong": "str",
    "remedy": "str",
}


class ReadOperation:
    """An operation, read and found sound. ``replace`` gives another one with some tables changed."""

    def __init__(self, gathered: Gathered, frames: Tables, settings: Settings) -> None:
        self._gathered, self._frames, self._settings = gathered, frames, settings

    @property
    def gathered(self) -> Gathered:
        """What the workflow takes."""
        return self._gathered

    @property
    def operation(self) -> Operation:
        """Yards, colonies, feeders, syrups, trucks and depots as objects, in SI."""
        return self._gathered.operation

    @property
    def path(self) -> Path | None:
        """The folder or workbook it was read from; None: tables in memory alone."""
        return self._gathered.folder

    @cached_property
    def tables(self) -> dict[str, pd.DataFrame]:
        """The tables as typed, by name (``yards``, ``colonies``, ...): change copies and ``replace`` them."""
        found = {} if self.path is None else read_tables(self.path)
        return {**found, **self._frames}

    @property
    def warnings(self) -> pd.DataFrame:
        """What is odd about the tables, though they can be planned with."""
        rows = (
            (p.code, p.file, p.row, p.column, str(p.value), p.wrong, p.remedy)
            for p in self._gathered.problems
        )
        return frame_of(rows, WARNINGS)

    def replace(self, settings: Settings | None = None, **tables: pd.DataFrame) -> ReadOperation:
        """The operation with other tables or settings; the files stay as they are.

        Parameters
        ----------
        settings
            Sections of keys as in operation.toml, ``{"shift": {"max_h": 12}}``; other keys stay.
        **tables
            Whole tables by name, with the columns of their CSV files: ``trucks=frame``.

        Raises
        ------
        InputError
            With every problem; rows are numbered as if the frame were a file with its header in row 1.
        """
        sections = dict(self._settings)
        for name, keys in (settings or {}).items():
            sections[name] = {**sections.get(name, {}), **keys}
        return _read(self.path, {**self._frames, **tables}, sections, None)

    def __repr__(self) -> str:
        o = self.operation
        colonies = sum(group.colonies for group in o.groups)
        counts = plural(len(o.yards), "yard"), f"{colonies:,} colonies", plural(len(o.trucks), "truck")
        return f"{o.name}: {', '.join(counts)}"


def read_operation(
    source: str | Path | Tables, settings: Settings | None = None, *, day: Date | None = None
) -> ReadOperation:
    """Read an operation from a folder, a workbook or data frames.

    Parameters
    ----------
    source
        A folder of CSV files with operation.toml, an .xlsx workbook, or DataFrames by table name
        (``yards``, ``colonies``, ``feeders``, ``syrups``, ``trucks``, ``tanks``, ``depots``, ``stock``) with
        the columns of those files, in the units that their names say.
    settings
        Sections of keys as in operation.toml; they go before those of the file.
    day
        The feeding date by which inspections are called too old; None: the newest inspection is the measure.

    Returns
    -------
    ReadOperation
        What ``need``, ``plan_day`` and the other functions take.

    Raises
    ------
    InputError
        With every problem of every table: file, row, column, value and remedy.
    """
    path = Path(source) if isinstance(source, (str, Path)) else None
    frames: Tables = {} if isinstance(source, (str, Path)) else source
    return _read(path, frames, settings or {}, None if day is None else a_date(day))


def _read(path: Path | None, frames: Tables, settings: Settings, day: date | None) -> ReadOperation:
    sources = FrameSources(frames, settings, path, Problems())
    operation, problems = read_sources(sources, day=day)
    return ReadOperation(Gathered(path, resolve(operation), problems), frames, settings)
