"""Put a truck's run sheet together: boxes in the order of the day, totals and cautions last."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop
from routing.domain.ration import YardNeed
from routing.reports.sheet.changes import changes_block, go_on_block
from routing.reports.sheet.closing import annex_block, totals_block, unserved_block, warnings_block
from routing.reports.sheet.day import SheetDay
from routing.reports.sheet.day_page import day_page
from routing.reports.sheet.depot import break_block, end_block, loadout_block, refill_block, wash_block
from routing.reports.sheet.model import Block, SheetContent
from routing.reports.sheet.yard import yard_block
from routing.reports.words.bound import how_good
from routing.reports.words.format import plural
from routing.reports.words.names import day_text, issue_text
from routing.reports.words.text import cut, one_line


def start_block(day: SheetDay, stop: Stop) -> Block:
    """The load-out of the morning, or where a crew in mid-day goes on from."""
    state = day.truck.underway if day.truck else None
    return loadout_block(day, stop) if state is None else go_on_block(day, stop, state)


BOXES: dict[str, Callable[[SheetDay, Stop], Block]] = {
    "start": start_block,
    "yard": yard_block,
    "refill": refill_block,
    "wash": wash_block,
    "break": break_block,
    "end": end_block,
}
HEAD_COST = 40


def sheet_content(
    operation: Operation,
    plan: Plan,
    route: Route,
    needs: Mapping[str, YardNeed] | None = None,
    made_at: datetime | None = None,
) -> SheetContent:
    """All that the sheet of one truck says. ``needs`` adds days of stores and late-feeding hours.

    ``made_at``: the moment the plan was made, printed where it is given.
    """
    day = SheetDay(operation, plan, route, needs or {})
    blocks: list[Block | None] = [changes_block(day)]
    blocks += [BOXES[stop.kind](day, stop) for stop in route.stops]
    blocks += [unserved_block(day), annex_block(day), totals_block(day)]
    return _content(
        day, f"TRUCK {cut(one_line(route.truck_id), HEAD_COST)} ({day.letter} on the map)", blocks, made_at
    )


def idle_content(operation: Operation, plan: Plan, made_at: datetime | None = None) -> SheetContent:
    """The sheet of a day on which no truck goes out: why, and the cautions of the plan."""
    totals = plan.totals
    moment = operation.clock(plan.date).at(0)
    day = SheetDay(operation, plan, Route("", moment, moment, totals, ()))
    return _content(
        day, "NO TRUCK GOES OUT", [changes_block(day), unserved_block(day), warnings_block(day)], made_at
    )


def _content(day: SheetDay, name: str, blocks: list[Block | None], made_at: datetime | None) -> SheetContent:
    plan = day.plan
    issue = cut(one_line(issue_text(plan, made_at)), 2 * HEAD_COST)
    date_text = day_text(plan.date)
    if not plan.audit.passed:
        name = f"DO NOT DRIVE, audit not passed · {name}"
    return SheetContent(
        truck_id=one_line(day.route.truck_id),
        operation=one_line(day.operation.name),
        plan_id=one_line(plan.plan_id),
        date_text=date_text,
        running_head=f"{name} · {date_text} · {issue.removesuffix(', checked')}",
        intro="" if day.route.stops else _intro(day),
        blocks=tuple(block for block in blocks if block is not None),
        day=day_page(day, issue, _intro(day)) if day.route.stops else None,
    )


def _intro(day: SheetDay) -> str:
    """What the sheet is, and how its figures are to be read, in one line."""
    units = day.units
    yards = plural(sum(stop.kind == "yard" for stop in day.route.stops), "yard stop")
    first = next((m for m in day.marks.values() if m.isdigit()), "")
    same = f"Stop {first} here is {day.letter}{first} on the map. " if first else ""
    good = how_good(day.plan, units)
    return (
        f"Run sheet, {one_line(day.operation.name)}, {yards}. {same}"
        f"24-hour clock, {one_line(day.plan.timezone)}. "
        f"{units.volume_unit}, {units.mass_unit}, {units.distance_unit}. {good}".rstrip()
    )
