"""Rules on hours: gates, depots, late feeding, seasons, breaks, driving, the shift."""

from __future__ import annotations

from collections.abc import Iterator

from routing.audit.evidence.book import Halt, Replay, Times
from routing.audit.evidence.sun import DOUBT, sunlight
from routing.audit.rules.rule import Breach, RouteRule
from routing.domain.clock import TimeWindow


def _within(replay: Replay, windows: tuple[TimeWindow, ...], t: Times) -> bool:
    """Whether a stop begins (and, by the setting, ends) in one same window; no windows: always open."""
    if not windows:
        return True
    book = replay.book
    ends = t.leave_s if book.operation.shift.leave_by_window else t.begin_s
    openings = book.clock.openings(windows, t.begin_s, max(t.begin_s, ends))
    return any(start <= t.begin_s and ends <= end for start, end in openings)


def gate_hours(replay: Replay) -> Iterator[Breach]:
    """A yard is visited within its gate hours."""
    for halt, t in replay.timed():
        if halt.stop.kind == "yard" and halt.yard and not _within(replay, halt.yard.windows, t):
            yield Breach(f"is visited {_span(replay, t)}, outside its gate hours", halt)


def daylight(replay: Replay) -> Iterator[Breach]:
    """Where work is by daylight only, a yard is visited between sunrise and sunset."""
    book = replay.book
    if not book.operation.work.daylight_only:
        return
    for halt, t in replay.timed():
        if halt.stop.kind != "yard" or halt.yard is None:
            continue
        begins, ends = book.clock.at(t.begin_s), book.clock.at(t.leave_s)
        light = sunlight(halt.yard.position, begins.date(), book.operation.timezone)
        binds_end = book.operation.shift.leave_by_window
        if light and (begins < light[0] - DOUBT or (binds_end and ends > light[1] + DOUBT)):
            yield Breach(f"is worked {_span(replay, t)}, not by daylight", halt)


def depot_hours(replay: Replay) -> Iterator[Breach]:
    """A depot is open when a truck loads there or comes in at the end."""
    for halt, t in replay.timed():
        loads = halt.stop.kind == "refill" or (halt.stop.kind == "start" and halt.stop.fill)
        if (loads or halt.stop.kind == "end") and halt.depot and not _within(replay, halt.depot.windows, t):
            yield Breach(f"the depot is not open {_span(replay, t)}", halt)


def _span(replay: Replay, t: Times) -> str:
    return f"{replay.book.hhmm(t.begin_s)} to {replay.book.hhmm(t.leave_s)}"


def late_feeding(replay: Replay) -> Iterator[Breach]:
    """Under high robbing, feeders that drip are filled late in the day."""
    op = replay.book.operation
    if op.feeding.robbing != "high" or op.feeding.spill_prone != "late":
        return
    late_s = replay.book.clock.elapsed_s(op.feeding.late_from_s)
    for halt, t in replay.timed():
        if t.begin_s < late_s and any(_drips(replay, pour.feeder_id) for pour in halt.stop.pour):
            yield Breach(f"feeders that drip are filled before {replay.book.hhmm(late_s)}", halt)


def _drips(replay: Replay, feeder_id: str) -> bool:
    feeder = replay.book.operation.feeders.get(feeder_id)
    return feeder is not None and feeder.spills.value == "high"


def closed_date(replay: Replay) -> Iterator[Breach]:
    """A yard is visited only in its season."""
    day = replay.book.plan.date
    for halt in replay.halts:
        yard = halt.yard
        if yard is None or halt.stop.kind != "yard":
            continue
        if yard.from_date and day < yard.from_date:
            yield Breach(f"the yard opens on {yard.from_date}", halt)
        if yard.until_date and day > yard.until_date:
            yield Breach(f"the yard closed on {yard.until_date}", halt)


def break_shape(replay: Replay) -> Iterator[Breach]:
    """A break stands where the truck stands, begins on arrival and is long enough."""
    least_s = replay.book.operation.shift.break_s
    for halt, t in replay.timed():
        if halt.stop.kind != "break":
            continue
        if halt.origin != halt.key:
            yield Breach("a break is taken where the truck stands, not driven to", halt)
        if t.begin_s != t.arrive_s:
            yield Breach("a break begins when the truck stands", halt)
        if t.leave_s - t.begin_s < least_s:
            yield Breach(f"a break of {t.leave_s - t.begin_s} s is shorter than {least_s} s", halt)


def break_missed(replay: Replay) -> Iterator[Breach]:
    """Nobody works (or drives, by the setting) longer than allowed without a break."""
    shift = replay.book.operation.shift
    if shift.break_s == 0:
        return
    yield from (_driving_clock if shift.break_clock == "driving" else _work_clock)(replay)


def _work_clock(replay: Replay) -> Iterator[Breach]:
    shift, span = replay.book.operation.shift, replay.span()
    if span is None:
        return
    since_s, end_s = span
    if (state := replay.truck.underway) is not None:
        since_s -= min(state.since_break_s, shift.break_after_s)
    last: Halt | None = None
    for halt, t in replay.timed():
        if halt.stop.kind == "break" and t.leave_s - t.begin_s >= shift.break_s:
            if t.begin_s - since_s > shift.break_after_s:
                yield Breach(f"the break comes {t.begin_s - since_s} s into the work", halt)
            since_s = t.leave_s
        last = halt
    if end_s - since_s > shift.break_after_s:
        yield Breach(f"{end_s - since_s} s are worked to the end without a break", last)


def _driving_clock(replay: Replay) -> Iterator[Breach]:
    """Driving since the last pause; stops with no drive between them are one pause."""
    shift = replay.book.operation.shift
    state, stands_from = replay.truck.underway, None
    driven_s = min(state.driven_since_break_s, shift.break_after_s) if state else 0
    for halt, t in replay.timed():
        if halt.drive_s or stands_from is None:
            driven_s += halt.drive_s or 0
            stands_from = t.arrive_s
            if driven_s > shift.break_after_s:
                yield Breach(f"{driven_s} s are driven without a pause of {shift.break_s} s", halt)
        if t.leave_s - stands_from >= shift.break_s:
            driven_s = 0


def driving_hours(replay: Replay) -> Iterator[Breach]:
    """Nobody drives longer in a day than allowed."""
    state, most_s = replay.truck.underway, replay.book.operation.shift.max_driving_s
    driven_s = sum(halt.drive_s or 0 for halt in replay.halts) + (state.driven_s if state else 0)
    if driven_s > most_s:
        yield Breach(f"{driven_s} s are driven; {most_s} s are allowed")


def shift_window(replay: Replay) -> Iterator[Breach]:
    """No truck leaves before its shift starts nor is back after it ends."""
    window, span, clock = replay.book.operation.shift_of(replay.truck), replay.span(), replay.book.clock
    if span is None:
        return
    state = replay.truck.underway
    if state is not None and span[0] != state.from_s:
        yield Breach(f"goes on at {replay.book.hhmm(span[0])}, not when it is free to")
    if span[0] < clock.elapsed_s(window.start_s):
        yield Breach(f"starts at {replay.book.hhmm(span[0])}, before the shift")
    if span[1] > clock.elapsed_s(window.end_s):
        yield Breach(f"is back at {replay.book.hhmm(span[1])}, after the shift")


def work_hours(replay: Replay) -> Iterator[Breach]:
    """Nobody works longer than ordinary time and overtime together."""
    shift, span = replay.book.operation.shift, replay.span()
    state, most_s = replay.truck.underway, shift.max_s + shift.overtime_s
    most_s -= state.worked_s if state else 0
    if span is not None and span[1] - span[0] > most_s:
        yield Breach(f"{span[1] - span[0]} s are worked; {most_s} s are allowed, overtime in")


RULES = (
    RouteRule("gate_hours", "Every yard is visited within its gate hours.", gate_hours),
    RouteRule("daylight", "Where work is by daylight only, yards are visited then.", daylight),
    RouteRule("depot_hours", "Trucks load, and come in, when the depot is open.", depot_hours),
    RouteRule("late_feeding", "Under high robbing, feeders that drip are filled late.", late_feeding),
    RouteRule("closed_date", "Every yard is visited in its season.", closed_date),
    RouteRule("break_shape", "Breaks are long enough and taken where the truck stands.", break_shape),
    RouteRule("break_missed", "Breaks come in time.", break_missed),
    RouteRule("driving_hours", "Nobody drives longer than allowed.", driving_hours),
    RouteRule("shift_window", "Every route lies within the shift of its truck.", shift_window),
    RouteRule("work_hours", "Nobody works longer than ordinary time and overtime.", work_hours),
)
