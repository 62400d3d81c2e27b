"""Show plans, needs, problems and audits in a terminal of 80 columns, in plain words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.text import Text

from routing.domain.errors import InputProblem
from routing.domain.operation import Operation
from routing.domain.plan import Finding, Plan, Route, RouteTotals, Stop, Unserved
from routing.domain.ration import YardNeed
from routing.reports.format import Units, duration, hhmm, hours, number, plural
from routing.reports.marks import stop_marks
from routing.reports.sheet_words import day_text, days_text, place_name, sentence, yard_name
from routing.reports.terminal_text import bullet, degrading, heading, short, table, text


@degrading
def plan_summary(operation: Operation, plan: Plan, console: Console) -> None:
    """A table per truck, the totals, what is not served and why, and the cautions."""
    console.print(text(f"{operation.name}, {day_text(plan.date)}, plan {plan.plan_id}", "bold"))
    if plan.audit.passed:
        console.print(text("Checked by the audit."))
    else:
        console.print(text("NOT PASSED BY THE AUDIT: do not drive it.", "bold red"))
    if not plan.routes:
        console.print("No truck goes out.")
    for route in plan.routes:
        _route_table(operation, plan, route, console)
    _totals_table(operation, plan, console)
    _unserved_list(operation, plan, console)
    _cautions(operation, plan, console)


def _route_table(operation: Operation, plan: Plan, route: Route, console: Console) -> None:
    units = Units(operation.units, operation.currency)
    span = f"{hhmm(route.start, plan.timezone, plan.date)} to {hhmm(route.end, plan.timezone, plan.date)}"
    totals = route.totals
    heading(
        console,
        f"Truck {route.truck_id}: {span}, {plural(totals.served_yards, 'yard')}, "
        f"{units.volume(totals.volume_l)}, {units.distance(totals.distance_m)}",
    )
    marks = stop_marks(route)
    columns = (
        ("#", "left"),
        ("*where", "left"),
        ("arrive", "left"),
        ("leave", "left"),
        (f"+/- {units.volume_unit}", "right"),
        ("in tanks", "right"),
        (units.mass_unit, "right"),
    )
    rows = [_stop_cells(operation, plan, stop, marks[stop.seq], units) for stop in route.stops]
    table(console, columns, rows)


def _stop_cells(
    operation: Operation, plan: Plan, stop: Stop, mark: str, units: Units
) -> tuple[str | Text, ...]:
    change = sum(fill.volume_l for fill in stop.fill) - sum(pour.volume_l for pour in stop.pour)
    aboard = sum(state.volume_l for state in stop.after.tanks.values())
    moved = f"{change / abs(change) * units.volume_value(abs(change)):+,.1f}" if change else ""
    return (
        text(mark, "bold"),
        _where(operation, stop),
        hhmm(stop.arrive, plan.timezone, plan.date),
        hhmm(stop.leave, plan.timezone, plan.date),
        moved,
        number(units.volume_value(aboard)),
        number(units.mass_value(stop.after.gross_kg)),
    )


def _where(operation: Operation, stop: Stop) -> Text:
    """The place, with what must not be missed in words behind it."""
    if stop.kind == "break":
        return text(f"break, {duration((stop.leave - stop.begin).total_seconds())}")
    words = {"start": "load at ", "refill": "refill at ", "wash": "wash down at ", "end": "back at "}
    found = text(words.get(stop.kind, "") + short(place_name(operation, stop)))
    yard = operation.yards.get(stop.place_id) if stop.kind == "yard" else None
    if stop.starving:
        found.append(" STARVING", "bold red")
    if yard is not None and yard.health.rank:
        found.append(f" {yard.health.value.upper()}", "bold magenta")
    wait_s = (stop.begin - stop.arrive).total_seconds()
    if wait_s >= 60:
        found.append(f" (wait {duration(wait_s)})")
    return found


def _totals_table(operation: Operation, plan: Plan, console: Console) -> None:
    units = Units(operation.units, operation.currency)
    heading(console, "Totals")
    columns = [("*truck", "left")]
    titles = ("yards", "colonies", units.volume_unit, units.distance_unit, "work", "drive", "fuel", "cost")
    columns += [(title, "right") for title in titles]
    rows = [(short(route.truck_id, 20), *_total_cells(route.totals, units)) for route in plan.routes]
    if len(plan.routes) != 1:
        rows.append(("all", *_total_cells(plan.totals, units)))
    table(console, columns, rows)
    money = f"Cost in {units.currency}. " if units.currency else ""
    overtime = f"Overtime {hours(plan.totals.overtime_s)}. " if plan.totals.overtime_s else ""
    co2 = f"CO2 {units.mass(plan.totals.co2_kg)}. "
    bound = plan.totals.bound
    gap = f"At most {number(bound.gap * 100, 1)} % above the best possible." if bound else ""
    console.print(text(f"{money}{overtime}{co2}Fuel in {units.volume_unit}. {gap}"))


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
    """Yards that wanted syrup first, one point each; those that need nothing by reason."""
    if not plan.unserved:
        console.print("Every yard is served.")
        return
    short_of = [left for left in plan.unserved if left.volume_l > 0 or left.starving]
    short_of.sort(key=lambda left: (not left.starving, left.days_of_stores, left.yard_id))
    if short_of:
        heading(console, f"Not fed, though in need: {plural(len(short_of), 'yard')}")
    for left in short_of:
        bullet(console, _unserved_text(operation, left))
    rest: dict[tuple[str, str], list[str]] = {}
    for left in plan.unserved:
        if left not in short_of:
            names = rest.setdefault((left.reason, left.remedy), [])
            names.append(yard_name(operation, left.yard_id))
    if rest:
        heading(console, "Nothing given today")
    for (reason, remedy), names in rest.items():
        line = text(", ".join(short(name) for name in names), "bold")
        line.append(f": {_reason(reason, remedy)}", "not bold")
        bullet(console, line)


def _unserved_text(operation: Operation, left: Unserved) -> Text:
    units = Units(operation.units, operation.currency)
    line = text(yard_name(operation, left.yard_id), "bold")
    if left.starving:
        line.append(" STARVING", "bold red")
    wants = f"wants {units.volume(left.volume_l)}" if left.volume_l > 0 else "in need"
    days = f"{days_text(left.days_of_stores)} days of stores"
    line.append(f" ({wants}, {days}): {_reason(left.reason, left.remedy)}", "not bold")
    return line


def _reason(reason: str, remedy: str) -> str:
    help_text = f" Remedy: {remedy}" if remedy.strip() else ""
    return text(f"{sentence(reason)}{help_text}").plain


def _cautions(operation: Operation, plan: Plan, console: Console) -> None:
    if not plan.warnings:
        return
    heading(console, "Cautions")
    for warning in plan.warnings:
        place = f"{_place(operation, warning.place_id)}: " if warning.place_id else ""
        bullet(console, text(place + warning.text))


def _place(operation: Operation, place_id: str) -> str:
    if place_id in operation.yards:
        return yard_name(operation, place_id)
    depot = operation.depots.get(place_id)
    return depot.name if depot and depot.name else place_id


@degrading
def need_table(
    operation: Operation, needs: Iterable[YardNeed] | Mapping[str, YardNeed], console: Console
) -> None:
    """Syrup per yard, most urgent first, each with days of stores left and why."""
    units = Units(operation.units, operation.currency)
    listed = list(needs.values() if isinstance(needs, Mapping) else needs)
    listed.sort(key=lambda need: (not need.doses, not need.starving, need.days_of_stores, need.yard_id))
    columns = (
        ("*yard", "left"),
        ("colonies", "right"),
        (units.volume_unit, "right"),
        ("days left", "right"),
        ("*why", "left"),
    )
    table(console, columns, [_need_cells(operation, need, units) for need in listed])
    fed = [need for need in listed if need.doses]
    volume = units.volume(sum(need.volume_l for need in fed))
    console.print(text(f"{plural(len(fed), 'yard')} to feed, {volume}, {_starving(listed)}"))
    cautions = dict.fromkeys(caution for need in listed for caution in need.cautions)
    if cautions:
        heading(console, "Cautions")
    for caution in cautions:
        bullet(console, text(caution))


def _starving(needs: Sequence[YardNeed]) -> str:
    count = sum(need.starving for need in needs)
    return f"{plural(count, 'yard')} starving." if count else "none starving."


def _need_cells(operation: Operation, need: YardNeed, units: Units) -> tuple[str | Text, ...]:
    name = text(short(yard_name(operation, need.yard_id)))
    if need.starving:
        name.append(" STARVING", "bold red")
    why = sentence(need.why) if need.doses else _reason(need.reason or need.why, need.remedy)
    return (
        name,
        number(need.fed_colonies if need.doses else need.colonies),
        number(units.volume_value(need.volume_l), 1) if need.doses else "-",
        days_text(need.days_of_stores),
        text(why),
    )


@degrading
def print_problems(problems: Sequence[InputProblem], console: Console) -> None:
    """Every problem of the input: where, what was found, what is wrong, what to do."""
    errors = [problem for problem in problems if problem.severity == "error"]
    for problem in problems:
        style, word = ("bold red", "error") if problem.severity == "error" else ("yellow", "warning")
        line = text(word, style)
        place = f"{problem.file}:{problem.row or '-'}:{problem.column or '-'}"
        line.append(f" {text(place).plain}", "bold")
        found = text(problem.value).plain or "(empty)"
        line.append(f" {short(found, 60)}: {text(problem.wrong).plain}: {text(problem.remedy).plain}")
        line.append(f" [{problem.code}]", "dim")
        bullet(console, line)
    others = len(problems) - len(errors)
    if not problems:
        console.print("No problem found.")
        return
    verdict = "nothing can be planned before the errors are mended" if errors else "planning can go on"
    console.print(text(f"{plural(len(errors), 'error')}, {plural(others, 'warning')}: {verdict}."))


@degrading
def audit_report(findings: Sequence[Finding], checks: Sequence[str], console: Console) -> None:
    """The verdict of the audit, every finding, and what was checked."""
    if findings:
        console.print(text(f"NOT PASSED: {plural(len(findings), 'finding')}.", "bold red"))
    else:
        console.print(text(f"Passed: {plural(len(checks), 'check')}, no finding.", "bold green"))
    for finding in findings:
        where = [f"truck {finding.truck_id}" if finding.truck_id else ""]
        where.append(f"stop {finding.seq}" if finding.seq is not None else "")
        where.append(finding.place_id or "")
        line = text(finding.code, "bold")
        place = ", ".join(part for part in where if part)
        line.append(f" ({text(place).plain})" if place else "", "not bold")
        line.append(f": {text(finding.text).plain}", "not bold")
        bullet(console, line)
    if checks:
        heading(console, "Checked")
        console.print(text(", ".join(checks)))
