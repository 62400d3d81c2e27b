"""Hand out the run sheets of a plan, one a truck, as HTML and as PDF with the same content."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import datetime

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.ration import YardNeed
from routing.reports.printing.html import sheet_html
from routing.reports.printing.pdf import sheet_pdf
from routing.reports.sheet.content import idle_content, sheet_content
from routing.reports.sheet.model import SheetContent

__all__ = ["run_sheet_html", "run_sheet_pdf", "sheet_content", "sheet_names"]


def run_sheet_html(
    operation: Operation,
    plan: Plan,
    needs: Mapping[str, YardNeed] | None = None,
    *,
    made_at: datetime | None = None,
) -> dict[str, str]:
    """Every sheet as one self-contained page, by file name. A plan without a route gets one sheet too.

    ``made_at``: the moment the plan was made, printed on every page where it is given.
    """
    contents = _contents(operation, plan, needs, made_at)
    return {f"{name}.html": sheet_html(content) for name, content in contents.items()}


def run_sheet_pdf(
    operation: Operation,
    plan: Plan,
    needs: Mapping[str, YardNeed] | None = None,
    *,
    paper: str = "letter",
    made_at: datetime | None = None,
) -> dict[str, bytes]:
    """Every sheet as PDF on ``letter`` or ``a4``, by file name. Raises ValueError for another paper."""
    contents = _contents(operation, plan, needs, made_at)
    return {f"{name}.pdf": sheet_pdf(content, plan.date, paper=paper) for name, content in contents.items()}


def sheet_names(truck_ids: Iterable[str]) -> dict[str, str]:
    """A file name (without ending) for each truck: safe on every file system, no two alike."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for truck_id in truck_ids:
        stem = "run_sheet_" + (re.sub(r"[^A-Za-z0-9_-]+", "_", truck_id).strip("_")[:60] or "truck")
        name, count = stem, 1
        while name.lower() in taken:
            count += 1
            name = f"{stem}_{count}"
        taken.add(name.lower())
        names[truck_id] = name
    return names


def _contents(
    operation: Operation, plan: Plan, needs: Mapping[str, YardNeed] | None, made_at: datetime | None
) -> dict[str, SheetContent]:
    if not plan.routes:
        return {"run_sheet_no_truck": idle_content(operation, plan, made_at)}
    names = sheet_names(route.truck_id for route in plan.routes)
    return {names[r.truck_id]: sheet_content(operation, plan, r, needs, made_at) for r in plan.routes}
