"""Write the manual of every column, key and problem code, from the same data that drives the reader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from enum import StrEnum
from typing import Any

from routing.domain.clock import TimeWindow
from routing.files.columns.all_tables import TABLES
from routing.files.columns.column import Column, Table
from routing.files.columns.settings import SECTIONS, SETTINGS_TYPES
from routing.files.operation.check_hours import clock_text
from routing.files.problems.codes import CODES
from routing.files.tables.values import believed, shown

_KINDS = {
    "text": "text",
    "id": "id",
    "ids": "ids",
    "yes_no": "yes/no",
    "number": "number",
    "whole": "whole number",
    "date": "date",
    "dates": "dates",
    "time": "HH:MM",
    "windows": "windows",
}

_INTRODUCTION = """\
# The operation folder: every file, column and key

This page is made from `routing/files/columns/`, which also drives the reader;
`python -m routing.files.manual.generated_docs` writes it.

An operation is a folder with `operation.toml` and eight CSV files: UTF-8, commas, one header row. A byte
order mark, blank lines, either line ending, columns in any order and columns of your own are fine.

An `.xlsx` workbook whose sheets are named like the files (`yards`, `colonies`, ...) may lie in the folder in
place of some or all CSV files, or be named itself instead of the folder. The keys of `operation.toml` stand
beside it, or in a sheet `operation` with the columns `section`, `key` and `value`. Where a table is there
both ways, the CSV file is read.

- **Units.** A header says its unit: fill in `tare_lb` or `tare_kg`, whichever you have, in any mixture.
  `units` in `operation.toml` decides only what you are shown.
- **Times** are local, `HH:MM`. A window is `06:30-11:00`; several are joined with `;`; `21:00-03:00` crosses
  midnight. **Dates** are ISO 8601, `2026-09-12`.
- **Yes and no** may be yes, no, true, false, 1, 0, y or n. Ids are one line without a semicolon.
- "Believed" is the range outside which a number is refused as absurd.

Every problem is reported, all at once, as `file:row:column: value: what is wrong: what to do`; of a whole
file, as `file: what is wrong: what to do`. The row is the one a spreadsheet shows; the header is row 1.
Errors stop the work; warnings do not.
"""


def manual() -> str:
    """The text of docs/input.md."""
    parts = [_INTRODUCTION, "## operation.toml\n"]
    parts += [_section(table) for table in SECTIONS.values()]
    parts += [_table(table) for table in TABLES]
    parts.append("## Problem codes\n")
    parts.append(_grid(("code", "meaning"), [(f"`{code}`", meaning) for code, meaning in CODES.items()]))
    return "\n".join(parts)


def _section(table: Table) -> str:
    kind = SETTINGS_TYPES.get(table.name)
    known = {f.name: f for f in fields(kind)} if kind else {}
    rows = []
    for column in table.columns:
        found = known.get(column.field)
        default = _default(column) if found is None else _setting_default(column, found.default)
        source = "" if found is None else str(found.metadata["source"])
        rows.append((*_common(column), default, source))
    heads = ("key", "what to write", "meaning", "believed", "default", "source of the default")
    return f"### [{table.name}]: {table.meaning}\n\n{_grid(heads, rows)}"


def _table(table: Table) -> str:
    rows = [(*_common(column), _default(column)) for column in table.columns]
    once = f"One row for each {' and '.join(table.key)}.\n\n" if table.key else ""
    text = f"## {table.file}\n\n{table.meaning[0].upper()}{table.meaning[1:]}.\n\n{once}"
    return text + _grid(("column", "what to write", "meaning", "believed", "if empty"), rows)


def _common(column: Column) -> tuple[str, str, str, str]:
    return (
        " or ".join(f"`{header}`" for header in column.headers),
        _what(column),
        column.meaning,
        _believed(column),
    )


def _what(column: Column) -> str:
    if column.choices:
        return " / ".join(f"`{word}`" for word in column.choices)
    units = " or ".join(dict.fromkeys(name.unit.text for name in column.names if name.unit.text))
    more = f", {units}" if units else ""
    refers = f" of {column.refers}" if column.refers else ""
    return f"{_KINDS[column.kind]}{more}{refers}"


def _believed(column: Column) -> str:
    if column.low is None or column.high is None:
        return ""
    return " or ".join(believed(column, name.unit) for name in column.names)


def _default(column: Column) -> str:
    if column.required:
        return "must be filled in"
    if column.default_text:
        return column.default_text
    if column.default is None or column.default in ("", ()):
        return "nothing"
    return _setting_default(column, column.default)


def _setting_default(column: Column, default: Any) -> str:
    if column.default_text:
        return column.default_text
    if default is None:
        return "none"
    if isinstance(default, bool):
        return "yes" if default else "no"
    if isinstance(default, (str, StrEnum)):
        return f"`{default}`" if default else "nothing"
    if isinstance(default, TimeWindow):
        return clock_text(default)
    if column.kind == "time":
        return f"{default // 3600:02d}:{default % 3600 // 60:02d}"
    return " or ".join(dict.fromkeys(shown(name.unit.from_si(default)) for name in column.names))


def _grid(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"
