"""The first boxes of a re-plan's run sheet: what changed for this crew, and where it goes on from."""

from __future__ import annotations

from collections.abc import Iterator

from routing.domain.fleet import HERE, Underway
from routing.domain.plan import Stop
from routing.reports.sheet.annex import NAME_COST
from routing.reports.sheet.day import SheetDay, where
from routing.reports.sheet.depot import aboard_facts, depot_facts, fill_table, mass_text, trip_facts
from routing.reports.sheet.model import Blank, Block, Table
from routing.reports.words.changes import (
    COST,
    LABELS,
    left_out,
    of_truck,
    to_crew,
    told_trucks,
    truck_difference_texts,
)
from routing.reports.words.depot_calls import take_text
from routing.reports.words.format import duration
from routing.reports.words.names import depot_name, first_page, pails_text, syrup_text
from routing.reports.words.route_day import Fact
from routing.reports.words.text import cut, one_line

BY_WAY = "BY WAY OF"


def changes_block(day: SheetDay) -> Block | None:
    """What is different from the sheet that the crew holds; None where nothing is replaced."""
    plan = day.plan
    if not plan.replaces:
        return None
    # A day on which no truck goes on has one sheet for all.
    crews = [day.route.truck_id] if day.route.truck_id else told_trucks(plan)
    told = [fact for truck_id in crews for fact in _told(day, truck_id)]
    orders = [fact for fact in told if fact.label == LABELS["tell"]]
    cautions = [
        Fact("CAUTION", one_line(w.to_crew or w.text), strong=True)
        for w in first_page(plan)
        if w.truck_id in crews
    ]
    told = [*orders, *cautions, *(fact for fact in told if fact not in orders)]
    return Block(
        kind="changes",
        mark="!",
        title=f"THIS SHEET REPLACES plan {cut(one_line(plan.replaces), NAME_COST)}",
        subtitle="put the old sheet away: its numbers and amounts hold no more",
        facts=(*(told or [Fact("ORDER", "your stops are as before")]), *_costs(day)),
        checks=("old sheet put away",),
        flows=True,
    )


def _told(day: SheetDay, truck_id: str | None) -> Iterator[Fact]:
    for change in of_truck(day.plan, truck_id):
        label = LABELS.get(change.code, "CHANGED")
        marks = [day.marks[seq] for seq, new in day.new.items() if new == change]
        yield Fact(f"{label} {', '.join(marks)}".rstrip(), one_line(to_crew(change)), strong=True)
    for names, reason in left_out(day.operation, day.plan, truck_id):
        yield Fact(LABELS["dropped"], one_line(f"{names}: {reason}"))


def _costs(day: SheetDay) -> Iterator[Fact]:
    """What the change costs this crew, and the day."""
    for text in truck_difference_texts(day.plan, day.route.truck_id or None):
        yield Fact(COST, one_line(text))


def go_on_block(day: SheetDay, stop: Stop, state: Underway) -> Block:
    """Where a crew in mid-day goes on from, with what it has aboard now and, at a depot, what it takes."""
    place = cut(one_line(depot_name(day.operation, stop.place_id)), NAME_COST)
    loads, take = bool(stop.fill), take_text(day.operation, stop)
    standing = "you are on your way there" if state.moving else "where you are now"
    if state.stranded:
        standing = "you broke down on the road after it: times count from there; tell base where you are"
    if _way(day, state) == BY_WAY:
        standing = "you are on your way there, but it is no stop any more"
    at_yard = stop.place_id.startswith(HERE)
    times = [Fact("THERE BY" if state.moving else "FROM", day.clock(stop.arrive), strong=True)]
    if stop.leave > stop.arrive:
        times.append(Fact("LEAVE", day.clock(stop.leave)))
    return Block(
        kind="goon",
        mark="NOW",
        title=f"GO ON {_way(day, state)} {place}{f': REFILL, {take}' if loads else ''}",
        subtitle=standing if at_yard else f"{standing}, depot id {one_line(stop.place_id)}",
        times=tuple(times),
        facts=(
            *(() if at_yard else depot_facts(day, stop)),
            *aboard_facts(day, stop),
            *trip_facts(day, stop),
            *_pails_now(day),
            Fact("Truck weighs", day.weighed(stop.after.gross_kg), strong=True),
            Fact("Hours so far", _hours(day, state)),
        ),
        where=where(stop.lat, stop.lon),
        table=fill_table(day, stop) if loads else _gauges(day, stop),
        checks=("gauges agree with this table; if not, tell base before you go on", *_pail_checks(day, stop)),
        blanks=(Blank("Left at", 0.5),) if loads or not state.moving else (),
    )


def _way(day: SheetDay, state: Underway) -> str:
    """Whether the crew goes on to a place, from it, or past it to another stop."""
    if not state.moving:
        return "FROM"
    begin, *ahead = day.route.stops
    first = next((stop for stop in ahead if stop.kind != "break"), None)
    return BY_WAY if first is not None and first.leg.drive_s and not begin.fill else "TO"


def _pail_checks(day: SheetDay, stop: Stop) -> tuple[str, ...]:
    call = day.calls.get(stop.seq)
    return call.checks if call else ()


def _hours(day: SheetDay, state: Underway) -> str:
    shift = day.operation.shift
    text = f"{duration(state.worked_s)} of work, {duration(state.driven_s)} of it driving"
    return f"{text}; {duration(state.since_break_s)} since start or last break" if shift.break_s else text


def _pails_now(day: SheetDay) -> list[Fact]:
    pails = pails_text(day.at_dawn())
    return [Fact("Pails now", pails)] if pails else []


def _gauges(day: SheetDay, stop: Stop) -> Table | None:
    """What each tank should hold now, with room for what the gauge says."""
    rows = tuple(
        (
            one_line(tank_id),
            syrup_text(day.operation, held.syrup_id) if held.volume_l > 0 else "empty",
            day.units.volume(held.volume_l),
            mass_text(day, held.syrup_id, held.volume_l),
            "",
        )
        for tank_id, held in day.at_dawn().tanks.items()
    )
    head = ("Tank", "Syrup", "IN IT NOW", "Weight", "Gauge reads")
    shares = (0.13, 0.35, 0.17, 0.15, 0.2)
    return Table(head, rows, right=(2, 3), strong=(2,), shares=shares) if rows else None
