"""Show in a terminal how a feeding day stands, and what its log holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from rich.console import Console
from rich.text import Text

from routing.domain.operation import Operation
from routing.log.day import GAPS, DayNow, Gap, TruckNow, YardNow
from routing.log.events import Event
from routing.reports.terminal.table import Column, table
from routing.reports.terminal.text import bullet, degrading, heading, text
from routing.reports.words.day import DayWords
from routing.reports.words.format import duration, number, plural
from routing.reports.words.names import day_text
from routing.reports.words.supply_names import syrup_name

_STATUS = {
    "not_started": "not started",
    "working": "working",
    "out": "OUT OF ACTION",
    "finished": "home",
}
_UNITLESS = frozenset(
    {"passed_over", "other_truck", "start_assumed", "unknown", "no_plan_text", "urgent_fed", "waiting"}
)
_SECONDS = frozenset({"late", "early"})
_SIGNED = {
    "gauge_gap": "the gauge shows {} {} than the book",
    "meter_gap": "the meter counted {} {} than was noted",
}
_COUNTS = {
    "too_many": "colonies",
    "urgent_colonies": "colonies",
    "part_done": "colonies",
    "skipped": "colonies",
    "dead": "colonies",
    "pails_short": "pails",
}


@degrading
def day_status(
    operation: Operation,
    state: DayNow,
    console: Console,
    refused: Mapping[str, str] = MappingProxyType({}),
) -> None:
    """Trucks, yards, stock, and where reality has left the plan.

    ``refused``: why yards that were called in may not be fed, by yard.
    """
    words = DayWords(operation, state.day)
    plan = f"plan {state.plan_ids[-1]}" if state.plan_ids else "no plan noted"
    console.print(
        text(f"{day_text(state.day)}, {words.clock(state.now)}: {plan}, {plural(state.events, 'event')}")
    )
    for truck in state.trucks.values():
        _truck(words, truck, console)
    _yards(words, state.yards, refused, console)
    _stock(words, state, console)
    if state.gaps:
        heading(console, "Where the day differs from the plan")
        for gap in state.gaps:
            bullet(console, text(gap_text(words, gap)))


def _truck(words: DayWords, truck: TruckNow, console: Console) -> None:
    heading(console, f"Truck {truck.truck_id}: {_STATUS[truck.status]}{_lateness(truck)}")
    for line in _truck_lines(words, truck):
        bullet(console, text(line))


def _lateness(truck: TruckNow) -> str:
    if truck.late_s is None or abs(truck.late_s) < 60:
        return ""
    return f", {duration(abs(truck.late_s))} {'late' if truck.late_s > 0 else 'ahead'}"


def _truck_lines(words: DayWords, truck: TruckNow) -> Iterable[str]:
    if truck.out_words:
        yield truck.out_words
    if truck.place and truck.place_at:
        since = words.clock(truck.place_at)
        yield _whereabouts(words, truck, since)
    if truck.silent:
        yield f"NOTHING HEARD {_taken_to_be(words, truck)}"
    tanks = [
        f"{name} {words.units.volume(tank.volume_l)}{_of(words, tank.syrup_id)}"
        for name, tank in truck.tanks.items()
    ]
    pails = f"{plural(truck.pails_full, 'full pail')}, {truck.pails_empty} empty"
    yield "; ".join((*tanks, pails) if truck.pails_full or truck.pails_empty else tanks) or "carries nothing"
    if truck.started:
        about = "about " if truck.drive_estimated else ""
        yield (
            f"worked {duration(truck.worked_s)} since {words.clock(truck.started)}, drove {about}"
            f"{duration(truck.driven_s)}, {duration(truck.since_break_s)} since the last break"
        )
    shift = words.operation.shift
    if truck.status == "working" and (
        late_s := shift.break_overdue_s(truck.since_break_s, truck.driving_since_pause_s)
    ):
        yield f"BREAK OVERDUE by {duration(late_s)}"
    if truck.hygiene_rank:
        met = "a quarantined yard" if truck.hygiene_rank == 2 else "a yard under watch"
        yield f"has been in {met}: no cleaner yard before a wash-down"


def _of(words: DayWords, syrup_id: str | None) -> str:
    """The syrup behind an amount; nothing for an empty tank."""
    return f" {syrup_name(words.operation, syrup_id)}" if syrup_id else ""


def _whereabouts(words: DayWords, truck: TruckNow, since: str) -> str:
    """Where a truck is, by its last report there, of the time ``since``."""
    place = words.place(truck.place)
    if truck.stranded:
        heard = f", last heard {words.clock(truck.heard)}" if truck.heard else ""
        return f"broke down after {place} (left {since}){heard}: taken to be at {place}"
    if not truck.underway:
        return f"at {place}, last heard {since}"
    if truck.pausing and truck.heading == truck.place:
        return f"done at {place} at {since}, next its break there"
    goes = f", on the way to {words.place(truck.heading)}" if truck.heading else ""
    by_way = f" by way of {words.place(truck.via)}" if truck.via else ""
    return f"left {place} at {since}{goes}{by_way}"


def _taken_to_be(words: DayWords, truck: TruckNow) -> str:
    """Since when nothing was heard, and where the truck is taken to be."""
    since = f"since {words.clock(truck.heard)}" if truck.heard else "today"
    if truck.status == "not_started":
        return f"{since}: taken to be still at its depot"
    if truck.underway and truck.toward and truck.toward != truck.place:
        return f"{since}: taken to be still on its way to {words.place(truck.toward)}"
    return f"{since}: taken to be still at {words.place(truck.place)}"


def _yards(
    words: DayWords, yards: Mapping[str, YardNow], refused: Mapping[str, str], console: Console
) -> None:
    shown = [y for y in yards.values() if y.status != "not_due" or y.closed or y.urgent]
    done = sum(y.status == "done" for y in shown)
    dropped = sum(y.status == "left_out" for y in shown)
    left_out = f", {dropped} not in the plan" if dropped else ""
    heading(console, f"Yards: {done} of {len(shown)} done{left_out}")
    rows = [_yard_row(words, yard, refused.get(yard.yard_id, "")) for yard in shown]
    columns = (
        Column("yard", wraps=True),
        Column("", wraps=True, least=8),
        Column("fed", right=True),
        Column("to feed", right=True),
        Column(words.units.volume_unit, right=True),
        Column("what", wraps=True, below=24),
    )
    table(console, columns, rows)


def _yard_row(words: DayWords, yard: YardNow, refused: str) -> tuple[str | Text, ...]:
    poured = sum(group.poured_l for group in yard.groups)
    what = []
    if yard.urgent:
        what.append(_call(words, yard))
    if refused and yard.status in ("due", "part"):
        what.append(f"MAY NOT BE FED: {refused}")
    if yard.left_out and yard.status in ("left_out", "part"):
        what.append(f"not in the plan: {yard.left_out}")
    if yard.skipped:
        told = f": {yard.skipped.words}" if yard.skipped.words else ""
        what.append(f"{yard.skipped.reason.value.replace('_', ' ')} at {words.clock(yard.skipped.at)}{told}")
    if yard.closed:
        what.append(f"closed until {words.clock(yard.closed_until)}" if yard.closed_until else "closed today")
    return (
        words.place(f"yard:{yard.yard_id}"),
        "not fed" if refused and yard.status == "due" else yard.status.replace("_", " "),
        number(sum(group.fed_colonies for group in yard.groups)),
        _waiting(words, yard, refused),
        number(words.units.volume_value(poured), 1) if poured else "-",
        "; ".join(what),
    )


def _call(words: DayWords, yard: YardNow) -> str:
    """``URGENT bees hang out (called in at 11:05, 10 colonies, 20.0 gal in all)``."""
    asked = [f"called in at {words.clock(yard.urgent_at)}" if yard.urgent_at else "called in"]
    if yard.urgent_colonies is not None:
        asked.append(plural(yard.urgent_colonies, "colony", "colonies"))
    if yard.urgent_each_l is not None:
        asked.append(f"{words.units.volume_each(yard.urgent_each_l)} each")
    if yard.urgent_total_l is not None:
        asked.append(f"{words.units.volume(yard.urgent_total_l)} in all")
    return " ".join(part for part in ("URGENT", yard.urgent_words, f"({', '.join(asked)})") if part)


def _waiting(words: DayWords, yard: YardNow, refused: str) -> str:
    """Colonies that wait; what a call asks for is not yet in any plan."""
    left = yard.left_colonies or yard.left_out_colonies
    if not left and yard.urgent and yard.status == "due" and not refused:
        standing = sum(group.colonies for group in words.operation.groups_of(yard.yard_id))
        left = standing if yard.urgent_colonies is None else min(standing, yard.urgent_colonies)
    return number(left) if left or yard.status not in ("due", "left_out") else "-"


def _stock(words: DayWords, state: DayNow, console: Console) -> None:
    heading(console, "Depots")
    for depot in state.depots.values():
        stock = [
            f"{syrup} {'unlimited' if level is None else words.units.volume(level)}"
            for syrup, level in depot.stock_l.items()
        ]
        closed = ""
        if depot.closed:
            closed = " CLOSED" + (f" until {words.clock(depot.closed_until)}" if depot.closed_until else "")
        place = words.place(f"depot:{depot.depot_id}")
        bullet(console, text(f"{place}{closed}: {', '.join(stock) or 'no stock'}"))


def gap_text(words: DayWords, gap: Gap) -> str:
    """One gap in words: where, what, how much."""
    if gap.code in _SIGNED:
        more = "more" if gap.amount > 0 else "less"
        told = _SIGNED[gap.code].format(words.units.volume(abs(gap.amount)), more)
        return f"{_gap_where(words, gap)}: {told}"
    meaning = GAPS[gap.code].rpartition(" (")[0] or GAPS[gap.code]
    if gap.code in _UNITLESS:
        amount = ""
    elif gap.code in _SECONDS:
        amount = duration(gap.amount)
    elif gap.code in _COUNTS:
        # A yard that a later plan left out is unfed, though nothing is due there any more.
        amount = f"{number(gap.amount)} {_COUNTS[gap.code]}" if gap.amount else ""
    else:
        amount = words.units.volume(gap.amount)
    return f"{_gap_where(words, gap)}: {meaning}" + (f": {amount}" if amount else "")


def _gap_where(words: DayWords, gap: Gap) -> str:
    where = [f"truck {gap.truck_id}" if gap.truck_id else ""]
    where.append(words.place(gap.place) if gap.place else "")
    where.append(gap.item.replace("_", " "))
    return ", ".join(part for part in where if part)


@degrading
def event_list(
    operation: Operation, events: Sequence[Event], replaced: Mapping[str, str], console: Console
) -> None:
    """All events in the order recorded, those that hold no more marked."""
    for event in events:
        words = DayWords(operation, event.day)
        line = Text(f"{words.clock(event.at)} ", "bold")
        line.append(text(words.event(event)).plain, "strike" if event.event_id in replaced else "")
        line.append(f"  {event.event_id}", "dim")
        if event.corrects:
            line.append(f" (in place of {event.corrects[:8]})", "dim")
        if event.event_id in replaced:
            line.append(f" (replaced by {replaced[event.event_id][:8]})", "dim")
        bullet(console, line)
    if not events:
        console.print("Nothing noted.")
