"""Rule on the latest arrivals that a plan states: who comes then and goes on as planned breaks nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from routing.audit.evidence.book import Halt, Replay, Times
from routing.audit.rules import hours
from routing.audit.rules.rule import Breach, RouteRule


def latest_arrive(replay: Replay) -> Iterator[Breach]:
    """Coming at the latest arrival of a stop, with all that follows as late as that makes it, is lawful."""
    for i, halt in enumerate(replay.halts):
        latest = halt.stop.latest_arrive
        if latest is None or halt.times is None:
            continue
        if not isinstance(latest, datetime):
            yield Breach("the latest arrival is no time", halt)
            continue
        at_s = replay.book.seconds(latest)
        if at_s is None or at_s < halt.times.arrive_s:
            yield Breach(f"the latest arrival {latest:%H:%M:%S} is before the planned one", halt)
            continue
        delayed = _delayed(replay, i, at_s)
        if delayed is None:
            yield Breach(f"who arrives at {latest:%H:%M:%S} finds a gate shut", halt)
            continue
        for rule in hours.RULES:
            for breach in rule.find(delayed):
                yield Breach(f"who arrives at the latest, {latest:%H:%M:%S}: {breach.text}", halt)


def _delayed(replay: Replay, first: int, arrive_s: int) -> Replay | None:
    """The route with one arrival put off and what follows pushed on; None where a place is shut for good."""
    halts = list(replay.halts)
    at_s = arrive_s
    for i in range(first, len(halts)):
        halt = halts[i]
        if halt.times is None or halt.drive_s is None:
            return None
        begin_s = halt.times.begin_s if at_s <= halt.times.begin_s else _opens(replay, halt, at_s)
        if begin_s is None:
            return None
        leave_s = begin_s + halt.times.leave_s - halt.times.begin_s
        halts[i] = replace(halt, times=Times(at_s, begin_s, leave_s))
        at_s = leave_s + (halts[i + 1].drive_s or 0 if i + 1 < len(halts) else 0)
    return replace(replay, halts=halts)


def _opens(replay: Replay, halt: Halt, at_s: int) -> int | None:
    """When work can begin for who comes at a time: at once, or when the next window opens."""
    place = halt.yard if halt.stop.kind == "yard" else halt.depot
    if halt.stop.kind in ("break", "wash") or place is None or not place.windows:
        return at_s
    book, stay_s = replay.book, halt.stop.leave - halt.stop.begin
    need_s = int(stay_s.total_seconds()) if book.operation.shift.leave_by_window else 0
    openings = book.clock.openings(place.windows, at_s, at_s + 86_400)
    return next((max(start, at_s) for start, end in openings if max(start, at_s) + need_s <= end), None)


RULES = (
    RouteRule("latest_arrive", "Who comes at a stated latest arrival still keeps every hour.", latest_arrive),
)
