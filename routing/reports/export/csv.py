"""Write all stops of a plan as ``stops.csv``."""

from __future__ import annotations

import csv
import io
from datetime import datetime

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.reports.export.rows import FORMULA_STARTS, Cell, stop_rows


def stops_csv(operation: Operation, plan: Plan) -> str:
    """One row a stop, RFC 4180, header row first; times are ISO 8601 with their offset.

    A text that a spreadsheet would run as a formula gets an apostrophe in front; every other text
    reads back as it was.
    """
    rows = [row for route in plan.routes for row in stop_rows(operation, plan, route)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(
        rows[0] if rows else ("plan_id", "replaces_plan", "date", "truck_id", "seq", "kind", "place_id")
    )
    for row in rows:
        writer.writerow([_plain(value) for value in row.values()])
    return out.getvalue()


def _plain(value: Cell) -> str | int | float:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return f"'{value}"
    return value
