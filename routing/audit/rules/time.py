"""Rules on legs and clock: what is driven, how long it takes, and that times follow from one another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import pairwise, starmap

from routing.audit.evidence.book import Book, Halt, Replay
from routing.audit.rules.rule import FUEL_L, Breach, RouteRule, differs

Line = tuple[tuple[float, float], ...]
"""Points (lon, lat) in degrees."""

DECIMALS = 6
"""Of a degree, to which lines are drawn: a tenth of a metre."""

LONGER, SLACK_M = 1.25, 500.0
"""How much longer than the drive a line may be that the travel table does not have (estimate: servers answer
tables and lines from different searches)."""

EARTH_M = 6_371_008.8


def clock_times(replay: Replay) -> Iterator[Breach]:
    """Times are whole seconds of the local clock, with its offset, on the planned day."""
    book, route = replay.book, replay.route
    for what, moment in (("start", route.start), ("end", route.end)):
        fault = _clock_fault(book, moment)
        if fault:
            yield Breach(f"the route's {what} {fault}")
    for halt in replay.halts:
        for name in ("arrive", "begin", "leave"):
            fault = _clock_fault(book, getattr(halt.stop, name))
            if fault:
                yield Breach(f"the time to {name} {fault}", halt)


def _clock_fault(book: Book, moment: datetime) -> str | None:
    if moment.tzinfo is None:
        return f"has no time zone: {moment.isoformat()}"
    seconds = book.seconds(moment)
    if seconds is None:
        return f"is not on the planned day: {moment.isoformat()}"
    if moment.microsecond:
        return f"is no whole second: {moment.isoformat()}"
    if moment.utcoffset() != book.clock.at(seconds).utcoffset():
        return f"is not in {book.operation.timezone}: {moment.isoformat()}"
    return None


def leg(replay: Replay) -> Iterator[Breach]:
    """Distance, driving time and climb of every leg are those of the travel table."""
    for halt in replay.halts:
        stated = halt.stop.leg
        if halt.distance_m is None or halt.drive_s is None:
            yield Breach(f"the travel table has no way from {halt.origin} to {halt.key}", halt)
        elif (stated.distance_m, stated.drive_s) != (halt.distance_m, halt.drive_s):
            yield Breach(
                f"the leg is given as {stated.distance_m} m in {stated.drive_s} s;"
                f" the travel table has {halt.distance_m} m in {halt.drive_s} s",
                halt,
            )
        elif stated.climb_m != halt.climb_m:
            yield Breach(f"the leg is given a climb of {stated.climb_m} m; it climbs {halt.climb_m} m", halt)


def leg_line(replay: Replay) -> Iterator[Breach]:
    """A leg is drawn as the travel table draws it; without a line there, from stop to stop and no longer than
    the drive."""
    for before, halt in zip([None, *replay.halts], replay.halts, strict=False):
        line = _drawn(halt.stop.leg.geometry)
        if before is None or halt.distance_m is None or halt.origin == halt.key:
            if line:
                yield Breach("a line is drawn where nothing is driven", halt)
            continue
        own = replay.book.line(replay.truck.truck_id, halt.origin or "", halt.key)
        if own is not None and line != _drawn(own):
            yield Breach("the leg is not drawn as the travel table has it", halt)
        if own is None:
            yield from (Breach(text, halt) for text in _line_faults(line, before, halt))


def _line_faults(line: Line, before: Halt, halt: Halt) -> Iterator[str]:
    ends = [(round(h.stop.lon, DECIMALS), round(h.stop.lat, DECIMALS)) for h in (before, halt)]
    if len(set(ends)) == 2 and (len(line) < 2 or [line[0], line[-1]] != ends):
        yield "the leg is not drawn from the stop before to this one"
    most_m = (halt.distance_m or 0) * LONGER + SLACK_M
    if (drawn_m := sum(starmap(_metres, pairwise(line)))) > most_m:
        yield f"the leg is drawn {drawn_m:.0f} m long; the drive is {halt.distance_m} m"


def _drawn(line: Iterable[tuple[float, float]]) -> Line:
    """A line to a tenth of a metre, with no point twice in a row."""
    points = [(round(lon, DECIMALS), round(lat, DECIMALS)) for lon, lat in line]
    return tuple(p for i, p in enumerate(points) if not i or p != points[i - 1])


def _metres(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Metres between two near points (lon, lat), on a sphere."""
    x = math.radians(b[0] - a[0]) * math.cos(math.radians((a[1] + b[1]) / 2))
    return EARTH_M * math.hypot(x, math.radians(b[1] - a[1]))


def leg_fuel(replay: Replay) -> Iterator[Breach]:
    """Fuel of every leg follows from its length, its climb and the mass it is driven with."""
    for halt in replay.halts:
        own = replay.leg_fuel_l(halt)
        if halt.distance_m is not None and differs(halt.stop.leg.fuel_l, own, FUEL_L):
            yield Breach(f"the leg is given {halt.stop.leg.fuel_l:.3f} L of fuel; it takes {own:.3f} L", halt)


def time_chain(replay: Replay) -> Iterator[Breach]:
    """A truck arrives when it left the stop before plus the drive: nothing is teleported."""
    for before, halt in zip(replay.halts, replay.halts[1:], strict=False):
        if before.times is None or halt.times is None or halt.drive_s is None:
            continue
        due = before.times.leave_s + halt.drive_s
        if halt.times.arrive_s != due:
            hhmm = replay.book.hhmm
            yield Breach(f"arrives at {hhmm(halt.times.arrive_s)}; the drive ends at {hhmm(due)}", halt)


def time_backwards(replay: Replay) -> Iterator[Breach]:
    """Nobody begins before arriving or leaves before beginning."""
    for halt, t in replay.timed():
        if t.begin_s < t.arrive_s:
            yield Breach("begins before the truck is there", halt)
        if t.leave_s < t.begin_s:
            yield Breach("leaves before it begins", halt)


def route_span(replay: Replay) -> Iterator[Breach]:
    """A route's start and end are those of its first and last stop; only a truck in mid-day waits first."""
    if not replay.route.stops:
        return
    first, last = replay.route.stops[0], replay.route.stops[-1]
    waits = first.arrive != first.begin and replay.truck.underway is None
    if waits or first.arrive != replay.route.start:
        yield Breach("the route does not start when its first stop begins", replay.halts[0])
    if last.leave != replay.route.end:
        yield Breach("the route does not end when its last stop does", replay.halts[-1])


RULES = (
    RouteRule("clock_time", "Every time is a whole second of the operation's local clock.", clock_times),
    RouteRule("leg", "Every leg has the distance and time of the travel table.", leg),
    RouteRule("leg_line", "Every leg is drawn where it is driven.", leg_line),
    RouteRule("leg_fuel", "Fuel of every leg follows from distance, climb and mass.", leg_fuel),
    RouteRule("time_chain", "Every arrival is the last departure plus the drive.", time_chain),
    RouteRule("time_backwards", "No stop begins before arrival or ends before it begins.", time_backwards),
    RouteRule("route_span", "A route's start and end are those of its stops.", route_span),
)
