"""Take a filled-in run sheet into the day log, as the events it stands for."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from routing.app.workflow.day_book import DayBook
from routing.domain.errors import FeedroundError, ValueRefused
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan
from routing.files.log.log import DayLog, read_log
from routing.files.log.rows import DayLogError
from routing.files.log.sheet import SheetStop, read_sheet, sheet_csv
from routing.files.tables.records import Record
from routing.files.writing.staged import put_file, refuse_input_name
from routing.log.events import Event, Fact
from routing.log.facts import (
    Arrived,
    Fed,
    Filled,
    Finished,
    Meter,
    Poured,
    Refilled,
    Rested,
    Skipped,
    SkipReason,
    Started,
    Washed,
)
from routing.log.fold.fold import day_now
from routing.reports.words.format import plural

_SHEETS = uuid.UUID("5a1f6c0e-0e0b-5c1e-9a57-6f0c8f6f3d11")
"""The name space of ids made for rows of run sheets: the same row always gets the same id."""


def write_sheet(book: DayBook, out: Path) -> str:
    """Write the newest plan's stops as a table to fill in, and say where; never over one filled in."""
    refuse_input_name(out)
    plan = _plan(book)
    put_file(out, "sheet", sheet_csv(book.operation, plan))
    return f"Plan {plan.plan_id}: fill in {out} and take it in with `note FOLDER import {out}`"


def _plan(book: DayBook) -> Plan:
    log = read_log(book.folder)
    if log is not None:
        with log:
            events = log.events(book.day, book.day)
            plans = log.plans_of(events)
            moment = max((event.at for event in events), default=book.now)
            state = day_now(book.operation, book.day, plans, events, moment)
            if state.plan_ids:
                return plans[state.plan_ids[-1]]
    raise FeedroundError(f"no plan is recorded for {book.day}: `note FOLDER planned PLAN.json` first")


def import_sheet(book: DayBook, file: Path) -> list[str]:
    """Add what a filled-in sheet says, all or nothing; what was taken in before is passed over.

    Raises InputError with every problem of the file, and FeedroundError when a row was taken in before
    with another content: that is a correction, which names the event it corrects.
    """
    stops = read_sheet(file, book.operation)
    events = [event for stop in stops for event in _events(book, stop, file.name)]
    events.sort(key=lambda event: event.at)
    with DayLog(book.path) as log, log.writing():
        try:
            taken = log.add_all(events)
        except DayLogError as error:
            raise FeedroundError(
                f"{file.name}: {error}. A row imported earlier has changed: correct it with "
                "`note FOLDER fed ... --corrects ID` (nothing from this file was added)"
            ) from error
    new = sum(one.new for one in taken)
    lines = [f"Noted: {one.event.event_id} {one.event.said}" for one in taken if one.new]
    before = len(taken) - new
    return [*lines, f"{file.name}: {plural(new, 'event')} noted, {before} noted before."]


def _events(book: DayBook, stop: SheetStop, file: str) -> Iterator[Event]:
    """The events of one stop: its arrival, and what was done there."""
    arrive_s, leave_s = stop.first("arrive_s"), stop.first("leave_s")
    kind = "yard" if stop.kind == "yard" else "depot"
    if arrive_s is not None and stop.kind not in ("start", "break", "end"):
        fact: Fact = Arrived(place_key(kind, stop.place_id))
        yield _event(book, stop, fact, book.at_wall(arrive_s), "arrived", file)
    done_s = leave_s if leave_s is not None else arrive_s
    only_arrived = leave_s is None and stop.kind == "yard" and not _worked(stop)
    if done_s is None or only_arrived:
        return
    try:
        made = _fact(book.operation, stop)
    except ValueRefused as error:
        raise FeedroundError(f"{file}:{stop.row}: {error}") from error
    yield _event(book, stop, made, book.at_wall(done_s), stop.kind, file)


def _worked(stop: SheetStop) -> bool:
    return stop.first("skipped") is not None or any(row.get("volume_l") is not None for row in stop.rows)


def _event(book: DayBook, stop: SheetStop, fact: Fact, at: datetime, what: str, file: str) -> Event:
    name = uuid.uuid5(_SHEETS, "|".join((str(book.day), stop.truck_id, str(stop.stop), stop.place_id, what)))
    said = f"import {file} row {stop.row}: {stop.truck_id} stop {stop.stop} {stop.place_id} {what}"
    return Event(str(name), book.day, at, fact, stop.truck_id, "", said)


def _fact(operation: Operation, stop: SheetStop) -> Fact:
    if stop.kind == "yard":
        return _visit(operation, stop)
    if stop.kind == "refill":
        return Refilled(stop.place_id, _fills(operation, stop), _meter(stop), words=stop.first("words") or "")
    if stop.kind == "start":
        return Started(stop.place_id, _fills(operation, stop))
    if stop.kind == "break":
        seconds = (stop.first("leave_s") - stop.first("arrive_s")) % 86_400
        return Rested(seconds)
    return Washed(stop.place_id) if stop.kind == "wash" else Finished(stop.place_id)


def _visit(operation: Operation, stop: SheetStop) -> Fact:
    words = stop.first("words") or ""
    poured = [row for row in stop.rows if row.get("volume_l") is not None]
    reason = stop.first("skipped")
    if reason is not None and not poured:
        return Skipped(stop.place_id, SkipReason(reason), words)
    return Fed(
        stop.place_id,
        tuple(_pour(operation, row) for row in poured),
        _meter(stop),
        # A reason beside a pour says why the rest of the yard was left.
        words=" ".join(part for part in (words, f"rest left: {reason}" if reason else "") if part),
    )


def _pour(operation: Operation, row: Record) -> Poured:
    groups = {group.group: group for group in operation.groups_of(row.get("place_id"))}
    name = row.get("group") or (next(iter(groups)) if len(groups) == 1 else "")
    if name not in groups:
        raise ValueRefused(f"name the group that was fed: {', '.join(groups)}")
    group = groups[name]
    syrup_id = row.get("syrup_id") or group.syrup_id
    feeder = operation.feeders.get(group.feeder_id)
    swapped = feeder is not None and feeder.swapped and not row.get("tank_id")
    pails = row.get("pails")
    return Poured(
        name,
        group.feeder_id,
        syrup_id,
        row.get("colonies") or 0,
        row.get("volume_l") or 0.0,
        None if swapped else _tank(operation, row),
        pails if pails is not None else ((row.get("colonies") or 0) if swapped else 0),
        row.get("lot") or _lot(operation, syrup_id),
        row.get("alive"),
        row.get("light"),
    )


def _tank(operation: Operation, row: Record) -> str:
    tanks = operation.trucks[row.get("truck_id")].tanks
    name = row.get("tank_id") or (tanks[0].tank_id if len(tanks) == 1 else "")
    if not name:
        raise ValueRefused(f"name the tank: {', '.join(t.tank_id for t in tanks) or 'it has none'}")
    return str(name)


def _fills(operation: Operation, stop: SheetStop) -> tuple[Filled, ...]:
    return tuple(
        Filled(
            row.get("syrup_id"),
            row.get("volume_l"),
            row.get("tank_id"),
            row.get("pails") or 0,
            row.get("lot") or _lot(operation, row.get("syrup_id")),
        )
        for row in stop.rows
        if row.get("volume_l") is not None
    )


def _lot(operation: Operation, syrup_id: str) -> str:
    syrup = operation.syrups.get(syrup_id)
    return syrup.lot if syrup else ""


def _meter(stop: SheetStop) -> Meter | None:
    start_l, end_l = stop.first("meter_start_l"), stop.first("meter_end_l")
    return None if start_l is None or end_l is None else Meter(start_l, end_l)
