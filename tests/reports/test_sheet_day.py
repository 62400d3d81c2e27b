"""Page 1 of a run sheet tells the whole day, and the sheet keeps to its pages."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.ration import YardNeed
from routing.need.ration import need_of_day
from routing.planning.plan.day import DayOptions, plan_day
from routing.planning.run.solve import SolveOptions
from routing.reports.printing.run_sheet import run_sheet_pdf, sheet_content
from routing.reports.words.names import place_name
from routing.travel.straight.straight import straight_travel
from tests.support.builders import small_case
from tests.support.invented.invent import DAY, invent_operation

PDFTOTEXT = shutil.which("pdftotext")
MOST_PAGES = 8
"""Of a day of 16 stops."""

Planned = tuple[Operation, Plan, dict[str, YardNeed]]


@pytest.fixture(scope="module")
def days() -> list[Planned]:
    """Two invented days of a truck or three each."""
    found = []
    for seed, yards in ((1, 14), (2, 30)):
        operation = invent_operation(seed, yards)
        needs = need_of_day(operation, DAY)
        travel = straight_travel(operation)
        plan = plan_day(operation, travel, needs, DAY, DayOptions(None, SolveOptions(None, 30, 1)), None)
        found.append((operation, plan, {need.yard_id: need for need in needs}))
    return found


def sheets(day: Planned) -> Iterator[tuple[int, bytes]]:
    operation, plan, needs = day
    printed = run_sheet_pdf(operation, plan, needs)
    for route, data in zip(plan.routes, printed.values(), strict=True):
        yield sum(stop.kind == "yard" for stop in route.stops), data


def test_a_day_of_sixteen_stops_has_eight_pages_at_most(days: list[Planned]) -> None:
    for day in days:
        for stops, data in sheets(day):
            most = MOST_PAGES + max(0, stops - 16) // 3
            assert len(PdfReader(BytesIO(data)).pages) <= most, stops


@pytest.mark.skipif(PDFTOTEXT is None, reason="no pdftotext here: page 1 is not read back")
def test_every_stop_is_found_on_page_one(days: list[Planned], tmp_path: Path) -> None:
    small = small_case()
    for operation, plan, needs in [(small.operation, small.plan, {}), *days]:
        printed = run_sheet_pdf(operation, plan, needs)
        for route, (name, data) in zip(plan.routes, printed.items(), strict=True):
            file = tmp_path / name
            file.write_bytes(data)
            command = [str(PDFTOTEXT), "-layout", "-f", "1", "-l", "1", str(file), "-"]
            text = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout
            lines = text.splitlines()
            for stop in route.stops:
                if stop.kind == "yard":
                    place = place_name(operation, stop)
                    assert any(place in line and f"{stop.arrive:%H:%M}" in line for line in lines), place


def test_table_of_the_day_has_a_row_a_stop_with_amounts_by_syrup_and_levels_by_tank() -> None:
    case = small_case()
    route = case.plan.routes[0]
    page = sheet_content(case.operation, case.plan, route).day
    assert page is not None
    assert len(page.rows) == len(route.stops)
    assert page.syrups == ("2:1 sugar", "HFCS 55")
    first = next(row for row in page.rows if row.mark == "1")
    assert (first.name, first.arrive, first.amounts) == ("Gate Corner", "07:36", ("79.3", ""))
    assert first.left == ("69", "119")
    start = page.rows[0]
    assert start.amounts == ("+147.9", "+118.9")
    assert start.pails == "+20"


def test_where_a_gate_or_the_break_binds_the_latest_arrival_is_marked(days: list[Planned]) -> None:
    for operation, plan, needs in days:
        for route in plan.routes:
            page = sheet_content(operation, plan, route, needs).day
            assert page is not None
            end = route.stops[-1]
            assert end.latest_arrive is not None
            spare = end.latest_arrive - end.arrive
            for stop, row in zip(route.stops, page.rows, strict=True):
                if stop.latest_arrive is not None:
                    assert row.early == (stop.latest_arrive - stop.arrive < spare - timedelta(seconds=59))
