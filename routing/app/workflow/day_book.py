"""Gather, decide, apply for the day log: what stands behind every note, the status, and the record."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from routing.app.workflow.device import device_now
from routing.app.workflow.morning import morning_from
from routing.app.workflow.workflow import audit_plan, gather
from routing.domain.errors import FeedroundError, ValueRefused
from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.units import DAY_S
from routing.files.log.log import DayLog, Taken, log_path, read_log
from routing.files.plan.plan_json import load_plan, plan_digest
from routing.log.complete.as_planned import AS_PLANNED
from routing.log.complete.complete import Known
from routing.log.corrections import in_force
from routing.log.day import DayNow, Gap
from routing.log.events import Event, Fact
from routing.log.facts import Fed, Planned, Skipped, Waiting, Withdrawn
from routing.log.fold.fold import day_now

BEFORE, AFTER = timedelta(hours=3), timedelta(hours=8)
"""A note this long before a plan begins, or after it ends, still belongs to the day of that plan."""

SITTING = timedelta(hours=12)
"""A day that was over when its plan was noted is being written up for so long (a choice)."""

Build = Callable[[Known], tuple[str, Fact]]
"""Makes truck and fact of a note from what is known; raises ValueRefused with what to say instead."""


@dataclass(frozen=True)
class Noted:
    """What became of a note: the event, whether it is new, and what it made not add up."""

    taken: Taken
    gaps: tuple[Gap, ...]
    state: DayNow


@dataclass(frozen=True)
class DayBook:
    """One feeding date of one operation, open for notes. ``now`` is the time of the device."""

    folder: Path
    operation: Operation
    day: date
    now: datetime
    dated: bool

    @property
    def path(self) -> Path:
        """Where the log lies."""
        return log_path(self.folder)

    def moment(self, text: str) -> datetime:
        """The time of a note, ``HH:MM`` local; nothing means now. Raises ValueRefused."""
        return wall_time(self.operation, self.day, text) if text.strip() else self._now()

    def at_wall(self, wall_s: int) -> datetime:
        """The time of a note at seconds after midnight by the wall clock."""
        return at_wall(self.operation, self.day, wall_s)

    def _now(self) -> datetime:
        local = self.now.astimezone(ZoneInfo(self.operation.timezone))
        if abs((local.date() - self.day).days) > 1:
            raise ValueRefused(f"{self.day} is not today: give the time with --at HH:MM")
        return local.replace(microsecond=0)


def wall_time(operation: Operation, day: date, text: str) -> datetime:
    """The moment of a feeding date at ``HH:MM`` (or ``HH:MM:SS``) local. Raises ValueRefused."""
    found = re.fullmatch(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", text.strip(), re.ASCII)
    wall_s = sum(int(p or 0) * f for p, f in zip(found.groups(), (3600, 60, 1), strict=True)) if found else -1
    if not found or int(found[2]) > 59 or not 0 <= wall_s < DAY_S:
        raise ValueRefused(f"{text!r} is not a time: write local HH:MM, like 09:40")
    return at_wall(operation, day, wall_s)


def at_wall(operation: Operation, day: date, wall_s: int) -> datetime:
    """The moment of a feeding date at seconds after midnight by the wall clock.

    A time before the shift begins is the next morning where the shift reaches it.
    """
    shifts = [operation.shift_of(truck) for truck in operation.trucks.values()]
    windows = [*shifts, operation.shift.window]
    over = max(w.end_s for w in windows) > DAY_S
    early = wall_s < min(w.start_s for w in windows) - 2 * 3600
    late_end = wall_s <= max(w.end_s for w in windows) - DAY_S + 4 * 3600
    clock = operation.clock(day)
    return clock.at(clock.elapsed_s(wall_s + DAY_S if over and early and late_end else wall_s))


def open_day(folder: Path, day: date | None, now: datetime | None = None) -> DayBook:
    """The book of a date; without one, of the day that ``now`` belongs to by the plans in the log.

    Raises FeedroundError where that cannot be told.
    """
    moment = now or device_now()
    operation = gather(folder).operation
    return DayBook(
        folder, operation, day or _day_of(folder, operation, moment), moment, dated=day is not None
    )


def open_any(folder: Path, day: date | None) -> DayBook:
    """The book for noting a plan, which says itself of which date it is."""
    now = device_now()
    operation = gather(folder).operation
    today = now.astimezone(ZoneInfo(operation.timezone)).date()
    return DayBook(folder, operation, day or today, now, dated=day is not None)


def _day_of(folder: Path, operation: Operation, now: datetime) -> date:
    """A shift over midnight is of the date it began on; a day written up late is that of its plan."""
    local = now.astimezone(ZoneInfo(operation.timezone)).date()
    log = read_log(folder)
    if log is None:
        return local
    with log:
        events = log.events()
        near = [e for e in events if abs((e.day - local).days) <= 1]
        plans = log.plans_of(near)
    if any(plan.date == local for plan in plans.values()):
        return local
    for plan in plans.values():
        if any(route.start - BEFORE <= now <= route.end + AFTER for route in plan.routes):
            return plan.date
    if any(event.day == local for event in near):
        return local
    return _written_up(events, local, now)


def _written_up(events: Sequence[Event], local: date, now: datetime) -> date:
    """Today; or the past day whose plan was noted last, if that was lately and when it was over."""
    last = max((e for e in in_force(events) if isinstance(e.fact, Planned)), key=_seq, default=None)
    if last is None or last.recorded is None:
        return local
    if last.day > local:
        raise FeedroundError(
            f"today is {local}, and the last plan recorded is for {last.day}: say which day it is with "
            f"--date {last.day} or --date {local}"
        )
    over = last.recorded - last.at > timedelta(days=1)
    return last.day if over and now - last.recorded <= SITTING else local


def _seq(event: Event) -> int:
    return event.seq


def note(
    book: DayBook,
    build: Build,
    *,
    at: str | datetime = "",
    event_id: str = "",
    corrects: str = "",
    said: str = "",
) -> Noted:
    """Record one note. The same id with the same note as typed is a retry, and adds nothing.

    Raises FeedroundError, with nothing recorded, when the note cannot be understood or the log not used.
    """
    name = _uuid(event_id)
    with DayLog(book.path) as log, log.writing():
        before = log.event(name)
        if before is not None:
            if before.said != said:
                raise FeedroundError(
                    f"the id {name} is already used by another note ({before.said}): choose another"
                )
            return Noted(Taken(before, new=False), (), known_at(book, log, before.at).state)
        old = log.find(corrects) if corrects.strip() else _taken_over(book, log, build)
        if old is not None and old.day != book.day and not isinstance(old.fact, Waiting):
            book = replace(book, day=old.day, dated=True)
        try:
            moment = _moment(book, at, old)
        except ValueRefused as error:
            raise ValueRefused("\n".join((*_other_faults(book, log, build, old), str(error)))) from error
        truck_id, fact = build(known_at(book, log, moment, without=old))
        event = Event(name, book.day, moment, fact, truck_id, old.event_id if old else "", said)
        taken = log.add(event)
        # A note made late changes what has come since: what holds is how the day stands after the last note.
        last = max(event.at for event in log.events(book.day, book.day))
        after = known_at(book, log, last).state
    return Noted(taken, tuple(gap for gap in after.gaps if gap.event_id == name), after)


def _taken_over(book: DayBook, log: DayLog, build: Build) -> Event | None:
    """The note of a yard that was taken to have gone as planned, where the new note is of that yard."""
    taken = {
        event.fact.yard_id: event
        for event in in_force(log.events(book.day, book.day))
        if isinstance(event.fact, Fed) and event.said == AS_PLANNED
    }
    if not taken:
        return None
    try:
        _, fact = build(known_at(book, log, last_moment(book, log)))
    except ValueRefused:
        return None
    return taken.get(fact.yard_id) if isinstance(fact, (Fed, Skipped)) else None


def _other_faults(book: DayBook, log: DayLog, build: Build, old: Event | None) -> tuple[str, ...]:
    """What else is wrong with a note that has no time, as the day stands after its last note."""
    try:
        build(known_at(book, log, last_moment(book, log), without=old))
    except ValueRefused as error:
        return (str(error),)
    return ()


def last_moment(book: DayBook, log: DayLog) -> datetime:
    """When the last thing was noted for; the beginning of the day where nothing was."""
    noted = (event.at for event in log.events(book.day, book.day))
    return max(noted, default=book.operation.clock(book.day).at(0))


def _moment(book: DayBook, at: str | datetime, old: Event | None) -> datetime:
    """When it was so: as said, else for a correction when the event it corrects was, else now."""
    if isinstance(at, datetime):
        return at
    return old.at if old is not None and not at.strip() else book.moment(at)


def _uuid(text: str) -> str:
    if not text.strip():
        return str(uuid.uuid4())
    try:
        return str(uuid.UUID(text.strip()))
    except ValueError:
        raise FeedroundError(
            f"--id {text!r} is not a UUID: leave it out, or give one like {uuid.UUID(int=0)}"
        ) from None


def known_at(book: DayBook, log: DayLog, now: datetime, without: Event | None = None) -> Known:
    """The day at a time; ``without`` an event that is about to be corrected, as if it were withdrawn."""
    events = log.events()
    plans = log.plans_of([event for event in events if event.day == book.day])
    if without is not None:
        last = events[-1].seq + 1
        gone = Event("gone", book.day, without.at, Withdrawn(), "", without.event_id, seq=last)
        events = (*events, gone)
    operation = morning_from(log, book.operation, events, book.day, today=False)
    return Known(operation, day_now(operation, book.day, plans, events, now), plans)


def register_plan(
    book: DayBook, path: Path, *, rest: bool, at: str = "", event_id: str = "", said: str = ""
) -> Noted:
    """Make a plan the one the crews drive by, and keep its text in the log.

    A plan as feedround wrote it was audited then; one that was edited since is audited now. Raises
    FeedroundError for a plan of another date or one that the audit finds fault with.
    """
    plan = load_plan(path)
    if plan.plan_id != plan_digest(plan) or not plan.audit.passed:
        _, plan, report = audit_plan(book.folder, path)
        if not report.passed:
            faults = "\n".join(f"  {finding.code}: {finding.text}" for finding in report.findings[:10])
            raise FeedroundError(f"{path}: this plan fails the audit and was not recorded:\n{faults}")
        plan = replace(plan, plan_id=plan_digest(plan))
    if book.dated and plan.date != book.day:
        raise FeedroundError(f"{path}: this plan is for {plan.date}, not for {book.day}")
    strange = [r.truck_id for r in plan.routes if r.truck_id not in book.operation.trucks]
    if strange:
        raise FeedroundError(f"{path}: there is no truck {', '.join(strange)}")
    book = replace(book, day=plan.date, dated=True)
    when: str | datetime = at
    starts = [route.start for route in plan.routes]
    if not at.strip() and starts and not rest:
        # A plan of the whole day holds from its beginning, whenever it is noted.
        when = min(starts).astimezone(ZoneInfo(book.operation.timezone))
    with DayLog(book.path) as log, log.writing():
        log.keep_plan(plan)
    fact = Planned(plan.plan_id, rest, str(path))
    return note(book, lambda known: ("", fact), at=when, event_id=event_id, said=said)


def status(folder: Path, day: date, now: str = "") -> tuple[DayBook, DayNow]:
    """How a date stands at ``now`` (``HH:MM``); without it at this moment, or at its last event."""
    book = open_day(folder, day)
    with _log_of(folder) as log:
        if now.strip():
            moment = book.moment(now)
        else:
            local = book.now.astimezone(ZoneInfo(book.operation.timezone)).replace(microsecond=0)
            noted = [event.at for event in log.events(day, day)]
            moment = local if local.date() == day or not noted else max(noted)
        known = known_at(book, log, moment)
        return replace(book, operation=known.operation), known.state


def all_events(
    folder: Path, first: date | None = None, last: date | None = None
) -> tuple[tuple[Event, ...], dict[str, Plan]]:
    """The events of a season, in the order recorded, and the plans they name."""
    with _log_of(folder) as log:
        events = log.events(first, last)
        return events, log.plans_of(events)


def _log_of(folder: Path) -> DayLog:
    log = read_log(folder)
    if log is None:
        raise FeedroundError(f"{log_path(folder)}: no notes yet: `feedround note {folder} ...`")
    return log
