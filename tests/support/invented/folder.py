"""Write an operation as a folder of files, as a beekeeper would have it, in metric units."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import date
from enum import Enum
from pathlib import Path
from typing import Any

from routing.domain.clock import TimeWindow
from routing.domain.operation import Operation
from routing.files.columns.all_tables import TABLES
from routing.files.columns.column import Column, Table
from routing.files.columns.unit_family import Name

HEAD = """\
[operation]
name = "{name}"
timezone = "{timezone}"
units = "{units}"
currency = "{currency}"

[shift]
start = "{start}"
end = "{end}"
max_h = {max_h}
overtime_h = {overtime_h}
break_after_h = {break_after_h}

[feeding]
syrup_id = "{syrup_id}"
next_visit_days = {next_visit_days}

[work]
quarantine_permit = {permit}
"""


def write_folder(operation: Operation, folder: Path) -> None:
    """Write what ``invent_operation`` sets; everything else is left to the defaults."""
    for table in TABLES:
        rows = [[_cell(column, value) for column, value in row] for row in _rows(operation, table)]
        kept = [i for i in range(len(table.columns)) if any(row[i] for row in rows)]
        with (folder / table.file).open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow([_name(table.columns[i]).header for i in kept])
            writer.writerows([row[i] for i in kept] for row in rows)
    (folder / "operation.toml").write_text(_settings(operation), encoding="utf-8")


def _settings(operation: Operation) -> str:
    shift = operation.shift
    return HEAD.format(
        name=operation.name,
        timezone=operation.timezone,
        units=operation.units,
        currency=operation.currency,
        start=_clock(shift.window.start_s),
        end=_clock(shift.window.end_s),
        max_h=shift.max_s / 3600,
        overtime_h=shift.overtime_s / 3600,
        break_after_h=shift.break_after_s / 3600,
        syrup_id=operation.feeding.syrup_id,
        next_visit_days=operation.feeding.next_visit_days,
        permit=str(operation.work.quarantine_permit).lower(),
    )


def _things(operation: Operation, table: Table) -> Iterable[tuple[Any, ...]]:
    """The objects whose fields fill a row of a table, those asked first first."""
    if table.name == "colonies":
        return [(group, group.stores) for group in operation.groups]
    if table.name == "tanks":
        return [(tank, truck) for truck in operation.trucks.values() for tank in truck.tanks]
    if table.name == "stock":
        return [(row, depot) for depot in operation.depots.values() for row in depot.stock]
    found: Iterable[Any] = getattr(operation, table.name).values()
    return [(thing, getattr(thing, "position", None)) for thing in found]


def _rows(operation: Operation, table: Table) -> Iterable[list[tuple[Column, Any]]]:
    for things in _things(operation, table):
        row = []
        for column in table.columns:
            held = next((t for t in things if hasattr(t, column.field)), None)
            row.append((column, getattr(held, column.field, None)))
        yield row


def _name(column: Column) -> Name:
    """The column's metric name: the one in SI, or else the last."""
    return next((name for name in column.names if name.unit.factor == 1.0), column.names[-1])


def _cell(column: Column, value: Any) -> str:
    """A value as written in its file; nothing where it is the default."""
    if value is None or value == column.default or value == ():
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, date):
        return value.isoformat()
    if column.kind == "windows":
        return ";".join(_span(window) for window in value)
    if column.kind == "time":
        return _clock(value)
    if isinstance(value, int | float):
        return f"{_name(column).unit.from_si(value):.10g}"
    return ";".join(value) if column.kind == "ids" else str(value)


def _span(window: TimeWindow) -> str:
    return f"{_clock(window.start_s)}-{_clock(window.end_s)}"


def _clock(seconds: int) -> str:
    hours, rest = divmod(seconds, 3600)
    return f"{hours % 24:02d}:{rest // 60:02d}"
