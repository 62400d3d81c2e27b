"""What concerns a trip is said where it is loaded: at the start, or at the refill before it."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import pairwise

import pytest
from rich.console import Console

from routing.domain.plan import Fill
from routing.reports.map.rows import Rows
from routing.reports.printing.run_sheet import sheet_content
from routing.reports.sheet.model import Block, SheetContent
from routing.reports.terminal.terminal import plan_summary
from routing.reports.words.depot_calls import calls_of, take_text
from routing.reports.words.marks import stop_marks
from routing.reports.words.route_day import RouteDay
from tests.support.builders import Case, small_case


@pytest.fixture(scope="module")
def case() -> Case:
    """The small plan, whose truck BIG refills before Lid Hill (pails) and a weak track to Hungry Flat."""
    small = small_case()
    yards = small.operation.yards
    weak = {
        "Y2": replace(yards["Y2"], max_gross_kg=8800.0),
        "Y3": replace(yards["Y3"], max_gross_kg=7000.0),
        "Y5": replace(yards["Y5"], max_gross_kg=8000.0),
    }
    return small._replace(operation=replace(small.operation, yards=yards | weak))


def sheet_of(case: Case) -> SheetContent:
    return sheet_content(case.operation, case.plan, case.plan.routes[0])


def box(sheet: SheetContent, kind: str) -> Block:
    return next(block for block in sheet.blocks if block.kind == kind)


def facts(block: Block) -> dict[str, str]:
    return {fact.label: fact.text for fact in block.facts}


def terminal_lines(case: Case, width: int = 120) -> list[str]:
    console = Console(file=io.StringIO(), width=width, color_system=None)
    plan_summary(case.operation, case.plan, console)
    assert isinstance(console.file, io.StringIO)
    return [line.strip() for line in console.file.getvalue().splitlines()]


def under(lines: list[str], mark: str) -> list[str]:
    """The lines that stand under the row of a stop."""
    first = next(i for i, line in enumerate(lines) if line.startswith(f"{mark} "))
    found = []
    for line in lines[first + 1 :]:
        if not line or not line.split()[0].isupper() or line.split()[0] in ("START", "END"):
            break
        found.append(line)
    return found


def test_a_weak_track_is_said_where_its_trip_is_loaded(case: Case) -> None:
    sheet = sheet_of(case)
    assert "at stop 1, " in facts(box(sheet, "loadout"))["Track limit"]
    assert "at stop 4, " in facts(box(sheet, "refill"))["Track limit"]


def test_of_several_weak_tracks_the_one_with_least_to_spare_is_named(case: Case) -> None:
    route = case.plan.routes[0]
    marks, spare = stop_marks(route), {}
    for before, stop in pairwise(route.stops):
        if stop.kind == "yard" and (limit := case.operation.yards[stop.place_id].max_gross_kg) is not None:
            spare[marks[stop.seq]] = limit - before.after.gross_kg
    assert set(spare) == {"1", "3", "4"}
    first, second = (call.limit.mark for call in calls_of(case.operation, route).values() if call.limit)
    assert (first, second) == ("1", min(("3", "4"), key=lambda mark: spare[mark]))


def test_pails_are_checked_where_they_are_loaded_and_counted_where_they_come_off(case: Case) -> None:
    sheet = sheet_of(case)
    assert any("lidded and strapped" in check for check in box(sheet, "loadout").checks)
    assert not any("lidded" in check for check in box(sheet, "refill").checks)
    assert "Empties back" in facts(box(sheet, "refill"))
    assert "Empties back" not in facts(box(sheet, "loadout"))
    assert "pails and lids counted" in box(sheet, "end").checks


def test_a_truck_without_pails_is_asked_to_count_none(case: Case) -> None:
    sheet = sheet_content(case.operation, case.plan, case.plan.routes[1])
    for block in sheet.blocks:
        assert not any("pail" in check for check in block.checks)


def test_pails_taken_at_a_refill_are_checked_there(case: Case) -> None:
    route = case.plan.routes[0]
    more = tuple(
        replace(s, fill=(*s.fill, Fill("S67", 30.0, None, 4))) if s.kind == "refill" else s
        for s in route.stops
    )
    plan = replace(case.plan, routes=(replace(route, stops=more), *case.plan.routes[1:]))
    found = box(sheet_of(case._replace(plan=plan)), "refill")
    assert any("lidded and strapped" in check for check in found.checks)
    assert facts(found)["Pails full"].startswith("load 4;")


def test_what_to_take_stands_at_the_start_as_at_a_refill(case: Case) -> None:
    sheet = sheet_of(case)
    assert box(sheet, "loadout").title.endswith("TAKE 147.9 gal 2:1 sugar, 118.9 gal HFCS 55, 20 full pails")
    lines = terminal_lines(case)
    start, refill = under(lines, "START"), under(lines, "R1")
    assert start[0].startswith(
        "TAKE 147.9 gal 2:1 sugar into B1, 118.9 gal HFCS 55 into B2, "
        "20 full pails (39.6 gal 2:1 sugar); then 1"
    )
    assert refill[0].startswith("TAKE 17.2 gal 2:1 sugar into B1; then 1")


def test_terminal_and_map_say_at_the_refill_what_its_trip_asks_for(case: Case) -> None:
    refill = " ".join(under(terminal_lines(case), "R1"))
    route = case.plan.routes[0]
    rows = Rows(RouteDay(case.operation, case.plan, route), 0).all()
    on_map = " ".join(note for row in rows if row.kind == "refill" for note in row.notes)
    for told in (refill, on_map):
        assert "at stop 4, you come with" in told
        assert "20 empty pails expected back" in told
    assert "lidded and strapped" in " ".join(rows[0].notes)


def test_nothing_taken_is_no_amount(case: Case) -> None:
    assert take_text(case.operation, replace(case.plan.routes[0].stops[0], fill=())) == ""


def test_pails_stand_apart_behind_all_tanks(case: Case) -> None:
    route = case.plan.routes[0]
    first = route.stops[0]
    mixed = replace(first, fill=(first.fill[0], first.fill[2], first.fill[1]))
    assert first.fill[2].tank_id is None
    plan = replace(case.plan, routes=(replace(route, stops=(mixed, *route.stops[1:])), *case.plan.routes[1:]))
    take = under(terminal_lines(case._replace(plan=plan)), "START")[0]
    assert take.index("into B1") < take.index("into B2") < take.index("full pails")
