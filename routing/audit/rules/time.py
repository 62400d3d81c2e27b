"""Rules on legs and clock: what is driven, how long it takes, and that times follow from one another."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from routing.audit.evidence.book import Book, Replay
from routing.audit.rules.rule import FUEL_L, Breach, RouteRule, differs


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
    RouteRule("leg_fuel", "Fuel of every leg follows from distance, climb and mass.", leg_fuel),
    RouteRule("time_chain", "Every arrival is the last departure plus the drive.", time_chain),
    RouteRule("time_backwards", "No stop begins before arrival or ends before it begins.", time_backwards),
    RouteRule("route_span", "A route's start and end are those of its stops.", route_span),
)
