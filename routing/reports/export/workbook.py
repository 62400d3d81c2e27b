"""Write a plan as an XLSX workbook: summary, one sheet a truck, what is unserved, assumptions."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import datetime

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from routing.domain.operation import Operation
from routing.domain.plan import Plan, RouteTotals, TruckDifference
from routing.reports.export.rows import FORMULA_STARTS, Cell, Row, stop_rows, unserved_rows
from routing.reports.words.format import Units
from routing.reports.words.text import clean

TITLE_LENGTH = 31
TEXT_LENGTH = 32_000
WIDEST = 48
ZIP_TIME = (1980, 1, 1, 0, 0, 0)
RESERVED = ("summary", "unserved", "assumptions", "history")


def workbook(operation: Operation, plan: Plan) -> bytes:
    """The workbook as bytes: the same plan gives the same bytes.

    Every text is a text cell, also one that begins with = + - or @: nothing is run when it is opened.
    """
    book = Workbook()
    summary = book.active
    assert isinstance(summary, Worksheet)
    summary.title = "summary"
    _fill(summary, _summary(operation, plan))
    titles = sheet_titles(route.truck_id for route in plan.routes)
    for title, route in zip(titles, plan.routes, strict=True):
        _fill(book.create_sheet(title), _grid(stop_rows(operation, plan, route)))
    _fill(book.create_sheet("unserved"), _grid(unserved_rows(operation, plan)) or [["every yard is served"]])
    _fill(book.create_sheet("assumptions"), _assumptions(plan))
    out = io.BytesIO()
    book.save(out)
    return _dateless(out.getvalue(), plan)


def sheet_titles(truck_ids: Iterable[str]) -> list[str]:
    """A sheet name for each truck: at most 31 letters, none that a workbook forbids, no two alike."""
    titles: list[str] = []
    taken = set(RESERVED)
    for truck_id in truck_ids:
        stem = re.sub(r"[\[\]:*?/\\\x00-\x1f\ufffd]", "_", clean(truck_id)).strip("' ")[:TITLE_LENGTH]
        stem = stem.strip("' ") or "truck"
        title, count = stem, 1
        while title.lower() in taken:
            count += 1
            title = f"{stem[: TITLE_LENGTH - len(str(count)) - 1]}_{count}"
        taken.add(title.lower())
        titles.append(title)
    return titles


def _grid(rows: Sequence[Row]) -> list[list[Cell]]:
    return [list(rows[0]), *(list(row.values()) for row in rows)] if rows else []


def _summary(operation: Operation, plan: Plan) -> list[list[Cell]]:
    units = Units(operation.units, operation.currency)
    head: list[list[Cell]] = [
        ["Plan", plan.plan_id],
        ["Replaces plan", plan.replaces],
        ["Operation", operation.name],
        ["Date", plan.date.isoformat()],
        ["Time zone", plan.timezone],
        ["Travel", plan.travel],
        ["Audit", "passed" if plan.audit.passed else "NOT PASSED"],
        [],
    ]
    columns = list(_totals(plan.totals, units))
    table: list[list[Cell]] = [["Truck", *columns]]
    table += [[route.truck_id, *_totals(route.totals, units).values()] for route in plan.routes]
    table.append(["all trucks", *_totals(plan.totals, units).values()])
    cautions: list[list[Cell]] = [[], ["Cautions"]]
    cautions += [[warning.place_id or "", warning.text] for warning in plan.warnings] or [["none"]]
    return [*head, *table, *_changed(plan, units), *cautions]


def _changed(plan: Plan, units: Units) -> list[list[Cell]]:
    """What a re-plan takes more or less, by truck; nothing for a plan that replaces none."""
    found = plan.difference
    if not plan.replaces or found is None:
        return []
    title = "More (below zero: less) than was left of the plan before"
    rows: list[list[Cell]] = [[], [title], ["Truck", *_difference(found, units)]]
    rows += [[truck_id, *_difference(own, units).values()] for truck_id, own in found.trucks.items()]
    return [*rows, ["all trucks", *_difference(found, units).values()]]


def _difference(found: TruckDifference, units: Units) -> dict[str, Cell]:
    volume, road, money = units.volume_unit.lower(), units.distance_unit, units.currency or "money"
    return {
        f"syrup_{volume}": round(units.volume_value(found.volume_l), 2),
        f"distance_{road}": round(units.distance_value(found.distance_m), 2),
        "work_h": round(found.work_s / 3600, 2),
        f"fuel_{volume}": round(units.volume_value(found.fuel_l), 2),
        f"wages_fuel_wear_{money}": round(found.cost, 2),
    }


def _totals(totals: RouteTotals, units: Units) -> dict[str, Cell]:
    volume, road, money = units.volume_unit.lower(), units.distance_unit, units.currency or "money"
    return {
        "yards": totals.served_yards,
        "colonies": totals.served_colonies,
        f"syrup_{volume}": round(units.volume_value(totals.volume_l), 2),
        f"distance_{road}": round(units.distance_value(totals.distance_m), 2),
        "drive_h": round(totals.drive_s / 3600, 2),
        "work_h": round(totals.work_s / 3600, 2),
        "overtime_h": round(totals.overtime_s / 3600, 2),
        f"fuel_{volume}": round(units.volume_value(totals.fuel_l), 2),
        "co2_kg": round(totals.co2_kg, 1),
        f"cost_{money}": round(totals.cost.total, 2),
    }


def _assumptions(plan: Plan) -> list[list[Cell]]:
    rows: list[list[Cell]] = [["setting", "value", "unit", "source"]]
    for name, assumption in plan.assumptions.items():
        rows.append([name, str(assumption.value), assumption.unit, assumption.source])
    return rows


def _fill(sheet: Worksheet, grid: Sequence[Sequence[Cell]]) -> None:
    widths: dict[int, int] = {}
    for r, row in enumerate(grid, start=1):
        for c, value in enumerate(row, start=1):
            _write(sheet, r, c, value)
            widths[c] = max(widths.get(c, 0), len(str(value if value is not None else "")))
    for c, width in widths.items():
        sheet.column_dimensions[get_column_letter(c)].width = min(max(width + 2, 9), WIDEST)
    if sheet.title != "summary":
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        sheet.freeze_panes = "A2"


def _write(sheet: Worksheet, row: int, column: int, value: Cell) -> None:
    cell = sheet.cell(row, column)
    if isinstance(value, str):
        text = clean(value)[:TEXT_LENGTH]
        cell.value = text
        cell.data_type = "s"
        # Excel's own mark for 'this is text': it stays text when the cell is edited, too.
        cell.quotePrefix = text.startswith(FORMULA_STARTS)
        cell.alignment = Alignment(vertical="top", wrap_text=len(text) > WIDEST)
    elif isinstance(value, datetime):
        # A workbook knows no time zones: the local clock reading is kept, the zone is on the summary.
        cell.value = value.replace(tzinfo=None)
        cell.number_format = "yyyy-mm-dd hh:mm"
    else:
        cell.value = value


def _dateless(data: bytes, plan: Plan) -> bytes:
    """The same file with the moment of writing replaced by the date of the plan."""
    stamp = f"{plan.date.isoformat()}T00:00:00Z".encode()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", stamp, content)
            target.writestr(zipfile.ZipInfo(name, ZIP_TIME), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
