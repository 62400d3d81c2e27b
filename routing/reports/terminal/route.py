"""Show the day of one truck in a terminal: a line a stop, and under each loading what to take."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.text import Text

from routing.domain.operation import Operation
from routing.domain.plan import Aboard, Fill, Plan, Route, Stop
from routing.reports.terminal.table import Column, table
from routing.reports.terminal.text import heading, short, text
from routing.reports.words.changes import NEW, new_visits
from routing.reports.words.depot_calls import Call, calls_of, in_order
from routing.reports.words.format import Units, duration, hhmm, number, plural
from routing.reports.words.marks import stop_marks
from routing.reports.words.names import place_name, urgent_text
from routing.reports.words.supply_names import syrup_name
from routing.reports.words.text import one_line

WIDE = 72
"""Columns from which the table has room for what is aboard."""


def route_table(operation: Operation, plan: Plan, route: Route, console: Console) -> None:
    """The stops of a truck with times, amounts, levels and mass; what is taken where stands in full."""
    units = Units(operation.units, operation.currency)
    span = f"{hhmm(route.start, plan.timezone, plan.date)} to {hhmm(route.end, plan.timezone, plan.date)}"
    totals = route.totals
    heading(
        console,
        f"Truck {route.truck_id}: {span}, {plural(totals.served_yards, 'yard')}, "
        f"{units.volume(totals.volume_l)}, {units.distance(totals.distance_m)}",
    )
    syrups = _syrups(route)
    pails = any(stop.after.pails_full for stop in route.stops)
    named = [syrup_name(operation, syrup) for syrup in syrups] + ["p: full pails"] * pails
    if len(named) > 1 and console.width >= WIDE:
        console.print(text(f"Aboard, {units.volume_unit}: {' + '.join(named)}"))
    columns = (
        Column("#"),
        Column("where", wraps=True),
        Column("arrive"),
        Column("leave"),
        Column(f"+/- {units.volume_unit}", right=True),
        Column("aboard", right=True, drop=1),
        Column(units.mass_unit, right=True, drop=2),
    )
    marks, new, calls = stop_marks(route), new_visits(plan, route), calls_of(operation, route)
    rows = [
        _stop_cells(operation, plan, route, stop, (marks[stop.seq], stop.seq in new), units, syrups)
        for stop in route.stops
    ]
    notes = [
        [text(line) for line in _told(operation, route, calls[stop.seq], units)] if stop.seq in calls else []
        for stop in route.stops
    ]
    table(console, columns, rows, notes)


def _told(operation: Operation, route: Route, call: Call, units: Units) -> Iterator[str]:
    """What to load, what the truck then weighs, and what to beware of on the trip that begins."""
    taken = ", ".join(_fill(operation, fill, units) for fill in in_order(call.stop.fill))
    truck = operation.trucks.get(route.truck_id)
    allowed = f" of {units.mass(truck.gvwr_kg)} allowed" if truck else ""
    yield f"TAKE {taken or 'nothing'}; then {units.mass(call.stop.after.gross_kg)}{allowed}"
    if call.limit:
        yield f"TRACK LIMIT {call.limit.told(units)}"
    pails = [f"{plural(call.empties_off, 'empty pail')} off"] if call.empties_off else []
    pails += [f"{plural(call.empties_back, 'empty pail')} expected back"] if call.empties_back else []
    if pails or call.checks:
        yield f"PAILS {'; '.join((*call.checks, *pails))}"


def _fill(operation: Operation, fill: Fill, units: Units) -> str:
    """``56.3 gal 2:1 sugar into front``, or ``20 full pails (19.8 gal 2:1 sugar)``."""
    amount = one_line(f"{units.volume(fill.volume_l)} {syrup_name(operation, fill.syrup_id)}")
    if fill.tank_id is None:
        return f"{plural(fill.pails, 'full pail')} ({amount})"
    return f"{amount} into {one_line(fill.tank_id)}"


def _stop_cells(
    operation: Operation,
    plan: Plan,
    route: Route,
    stop: Stop,
    mark: tuple[str, bool],
    units: Units,
    syrups: Sequence[str],
) -> tuple[str | Text, ...]:
    change = sum(fill.volume_l for fill in stop.fill) - sum(pour.volume_l for pour in stop.pour)
    moved = f"{change / abs(change) * units.volume_value(abs(change)):+,.1f}" if change else ""
    return (
        text(mark[0], "bold"),
        _where(operation, plan, route, stop, mark[1]),
        _clock(stop.arrive, plan),
        _clock(stop.leave, plan),
        moved,
        _aboard(stop.after, syrups, units),
        number(units.mass_value(stop.after.gross_kg)),
    )


def _syrups(route: Route) -> list[str]:
    """The syrups that a truck carries in tanks on its day, in the order it meets them."""
    held = (state.syrup_id for stop in route.stops for state in stop.after.tanks.values())
    return list(dict.fromkeys(syrup for syrup in held if syrup is not None))


def _aboard(after: Aboard, syrups: Sequence[str], units: Units) -> str:
    """``334+113+16p``: what is in tanks of each syrup, and the full pails."""
    amounts = [
        number(units.volume_value(sum(s.volume_l for s in after.tanks.values() if s.syrup_id == syrup)))
        for syrup in syrups
    ]
    return "+".join([*amounts, *([f"{after.pails_full}p"] if after.pails_full else [])])


def _where(operation: Operation, plan: Plan, route: Route, stop: Stop, new: bool) -> Text:
    """The place, with what must not be missed in words behind it."""
    if stop.kind == "break":
        return text(f"break, {duration((stop.leave - stop.begin).total_seconds())}")
    truck = operation.trucks.get(route.truck_id)
    underway = truck is not None and truck.underway is not None
    begins = "load at " if stop.fill or not underway else "goes on from "
    words = {"start": begins, "refill": "refill at ", "wash": "wash down at ", "end": "back at "}
    found = text(words.get(stop.kind, "") + short(place_name(operation, stop)))
    yard = operation.yards.get(stop.place_id) if stop.kind == "yard" else None
    if new:
        found.append(f" {NEW}", "bold yellow")
    if yard is not None and urgent_text(plan, stop.place_id):
        found.append(" URGENT", "bold red")
    if stop.starving:
        found.append(" STARVING", "bold red")
    if yard is not None and yard.health.rank:
        found.append(f" {yard.health.value.upper()}", "bold magenta")
    wait_s = (stop.begin - stop.arrive).total_seconds()
    if wait_s >= 60:
        found.append(f" (wait {duration(wait_s)})")
    return found


def _clock(moment: datetime, plan: Plan) -> str:
    """``00:22+1`` after midnight of the feeding date: the long form has no room in a table."""
    local = moment.astimezone(ZoneInfo(plan.timezone))
    days = (local.date() - plan.date).days
    return f"{local:%H:%M}{days:+d}" if days else f"{local:%H:%M}"
