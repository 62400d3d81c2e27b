"""Show a plan in a terminal: a table per truck, totals, what is not served and why, cautions."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from routing.domain.operation import Operation
from routing.domain.plan import Plan, RouteTotals, Unserved
from routing.reports.terminal.route import route_table
from routing.reports.terminal.table import Column, table
from routing.reports.terminal.text import bullet, degrading, heading, reason_text, short, text
from routing.reports.words.bound import how_good
from routing.reports.words.changes import difference_text, left_out, of_truck, told_trucks
from routing.reports.words.format import Units, hours, number
from routing.reports.words.names import day_text, days_text, first_page, yard_name
from routing.reports.words.unserved import by_reason, in_part, need_nothing, not_fed


@degrading
def plan_summary(operation: Operation, plan: Plan, console: Console) -> None:
    """A table per truck, the totals, what is not served and why, and the cautions."""
    console.print(text(f"{operation.name}, {day_text(plan.date)}, plan {plan.plan_id}", "bold"))
    if plan.audit.passed:
        console.print(text("Checked by the audit."))
    else:
        console.print(text("NOT PASSED BY THE AUDIT: do not drive it.", "bold red"))
    _changes(operation, plan, console)
    if not plan.routes:
        console.print("No truck goes out.")
    for route in plan.routes:
        route_table(operation, plan, route, console)
    _totals_table(operation, plan, console)
    _unserved_list(operation, plan, console)
    _cautions(operation, plan, console)


def _changes(operation: Operation, plan: Plan, console: Console) -> None:
    """What a re-plan changed: first what to tell every crew now, then the rest, crew by crew."""
    if not plan.replaces:
        return
    console.print(text(f"Replaces plan {plan.replaces}: the rest of the day."))
    now = [c for truck_id in told_trucks(plan) for c in of_truck(plan, truck_id) if c.code == "tell"]
    if now:
        heading(console, "Tell the crews now")
    for change in now:
        bullet(console, text(change.text, "bold"))
    for warning in first_page(plan):
        bullet(console, text(warning.text, "bold yellow"))
    heading(console, "What changed")
    lines = [
        line
        for truck_id in told_trucks(plan)
        for line in (
            # Whose a yard no longer is, is said where it is told whose it is now.
            *(text(c.text) for c in of_truck(plan, truck_id) if c.code not in ("tell", "taken")),
            *(_left_out(truck_id, *group) for group in left_out(operation, plan, truck_id)),
        )
    ]
    for line in lines:
        bullet(console, line)
    if not lines:
        console.print("Every stop is as before.")
    if costs := difference_text(plan):
        bullet(console, text(costs))


def _left_out(truck_id: str | None, names: str, reason: str) -> Text:
    line = text(f"{truck_id} leaves out {names}" if truck_id else f"left out: {names}")
    line.append(f": {text(reason).plain}")
    return line


def _totals_table(operation: Operation, plan: Plan, console: Console) -> None:
    units = Units(operation.units, operation.currency)
    heading(console, "Totals")
    # What the heading of each truck says already can go first.
    drops = {"colonies": 1, "drive": 2, units.distance_unit: 3, "yards": 4}
    titles = ("yards", "colonies", units.volume_unit, units.distance_unit, "work", "drive", "fuel", "cost")
    columns = [Column("truck", wraps=True, least=8)]
    columns += [Column(title, right=True, drop=drops.get(title, 0)) for title in titles]
    rows = [(short(route.truck_id), *_total_cells(route.totals, units)) for route in plan.routes]
    if len(plan.routes) != 1:
        rows.append(("all", *_total_cells(plan.totals, units)))
    table(console, columns, rows)
    money = f"Cost in {units.currency}. " if units.currency else ""
    overtime = f"Overtime {hours(plan.totals.overtime_s)}. " if plan.totals.overtime_s else ""
    co2 = f"CO2 {units.mass(plan.totals.co2_kg)}. "
    console.print(text(f"{money}{overtime}{co2}Fuel in {units.volume_unit}."))
    if told := how_good(plan, units):
        console.print(text(told))


def _total_cells(totals: RouteTotals, units: Units) -> tuple[str, ...]:
    return (
        number(totals.served_yards),
        number(totals.served_colonies),
        number(units.volume_value(totals.volume_l)),
        number(units.distance_value(totals.distance_m)),
        hours(totals.work_s),
        hours(totals.drive_s),
        number(units.volume_value(totals.fuel_l), 1),
        number(totals.cost.total),
    )


def _unserved_list(operation: Operation, plan: Plan, console: Console) -> None:
    """Yards that go without, most urgent first; then those that need nothing, by reason."""
    if not plan.unserved:
        console.print("Every yard is served.")
        return
    wanting = [left for left in plan.unfed if left.volume_l > 0 or left.starving]
    if plan.unfed:
        heading(console, not_fed(plan))
    for left in wanting:
        bullet(console, _unserved_text(operation, plan, left))
    _reasons(operation, [left for left in plan.unfed if left not in wanting], console)
    if plan.nothing_due:
        heading(console, need_nothing(plan))
    _reasons(operation, plan.nothing_due, console)


def _reasons(operation: Operation, left: Iterable[Unserved], console: Console) -> None:
    """One point a reason, with all its yards."""
    for names, reason, remedy in by_reason(operation, left):
        line = text(", ".join(short(name) for name in names), "bold")
        line.append(f": {reason_text(reason, remedy)}", "not bold")
        bullet(console, line)


def _unserved_text(operation: Operation, plan: Plan, left: Unserved) -> Text:
    units = Units(operation.units, operation.currency)
    line = text(yard_name(operation, left.yard_id), "bold")
    if left.starving:
        line.append(" STARVING", "bold red")
    if in_part(plan, left):
        line.append(" IN PART", "bold yellow")
    wants = f"still wants {units.volume(left.volume_l)}, " if left.volume_l > 0 else ""
    days = f"{days_text(left.days_of_stores)} days of stores"
    line.append(f" ({wants}{days}): {reason_text(left.reason, left.remedy)}", "not bold")
    return line


def _cautions(operation: Operation, plan: Plan, console: Console) -> None:
    read = first_page(plan)
    warnings = [warning for warning in plan.warnings if warning not in read]
    if warnings:
        heading(console, "Cautions")
    for warning in warnings:
        name = _place(operation, warning.place_id) if warning.place_id else ""
        place = f"{name}: " if name and not warning.text.startswith(name) else ""
        bullet(console, text(place + warning.text))


def _place(operation: Operation, place_id: str) -> str:
    if place_id in operation.yards:
        return yard_name(operation, place_id)
    if place_id not in operation.depots:
        # A yard that is done is no part of the rest of the day any more; the caution names it.
        return ""
    return operation.depots[place_id].name or place_id
