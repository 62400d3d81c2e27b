"""Hold a truck's reports against its planned stops: what is done, where it goes next, how late it is."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from routing.domain.operation import place_key
from routing.domain.plan import Route, Stop
from routing.log.fold.truck import Mark


@dataclass(frozen=True)
class Track:
    """Stops done by ``seq``, the next one, stops passed by, and lateness at the last report (s)."""

    done: tuple[int, ...]
    heading: Stop | None
    passed: tuple[Stop, ...]
    late_s: int | None


def stop_place(route: Route, stop: Stop, begins: str | None = None) -> str:
    """The place key of a stop; a break stands where the stop before it stood.

    ``begins``: the place that the route begins at, where its first stop goes by a name of its own.
    """
    if stop.kind == "break":
        before = [s for s in route.stops if s.seq < stop.seq and s.kind != "break"]
        return stop_place(route, before[-1], begins) if before else place_key("depot", stop.place_id)
    if stop.kind == "start" and begins:
        return begins
    return place_key("yard" if stop.kind == "yard" else "depot", stop.place_id)


def is_refill(stop: Stop, rest: bool) -> bool:
    """Whether a stop is a refill in mid-day: also a loading that the rest of a day begins with."""
    return stop.kind == "refill" or (rest and stop.kind == "start" and bool(stop.fill))


def track(
    route: Route,
    marks: Sequence[Mark],
    moot_yards: Collection[str],
    *,
    rest: bool = False,
    begins: str | None = None,
) -> Track:
    """Follow a route by the reports of its truck, in their order.

    ``moot_yards`` need no visit any more (fed by another truck, skipped from the office): such a stop is
    neither next nor passed by. ``rest``: the route is the rest of the day of a truck that was out already.
    ``begins``: where that begins.
    """
    done: set[int] = set()
    reached = -1
    late_s: int | None = None
    for mark in marks:
        stop = _fitting(route, mark, done, rest, begins)
        if stop is None:
            continue
        planned = stop.arrive if mark.phase == "arrive" else stop.leave
        late_s = round((mark.at - planned).total_seconds())
        reached = max(reached, stop.seq)
        if mark.phase == "leave" or stop.kind == "end":
            done.add(stop.seq)
    last = max(done, default=-1)
    open_stops = [s for s in route.stops if s.seq not in done and not _moot(s, moot_yards)]
    ahead = [
        s
        for s in open_stops
        if s.seq > last
        and (s.kind != "start" or is_refill(s, rest))
        # A break that nobody noted is behind a crew that has got to a later stop.
        and not (s.kind == "break" and s.seq < reached)
    ]
    passed = [s for s in open_stops if s.seq < last and s.kind == "yard"]
    return Track(tuple(sorted(done)), ahead[0] if ahead else None, tuple(passed), late_s)


def _moot(stop: Stop, moot_yards: Collection[str]) -> bool:
    return stop.kind == "yard" and stop.place_id in moot_yards


def _fitting(route: Route, mark: Mark, done: Collection[int], rest: bool, begins: str | None) -> Stop | None:
    """The first stop not done that a report is about; a break may be taken anywhere."""
    for stop in route.stops:
        if stop.seq in done:
            continue
        refill = is_refill(stop, rest)
        if mark.kind == "arrive":
            fits = refill or stop.kind not in ("break", "start")
            if fits and stop_place(route, stop, begins) == mark.place:
                return stop
        elif (stop.kind == mark.kind or (refill and mark.kind == "refill")) and (
            mark.kind == "break" or stop_place(route, stop, begins) == mark.place
        ):
            return stop
    return None


def late_now_s(found: Track, at_heading: bool, now: datetime) -> int | None:
    """Lateness at ``now``: at the last report, or more when the next planned leaving has passed.

    Arrivals are often not reported, so only the leaving of the next stop tells for sure.
    """
    if found.heading is None:
        return found.late_s
    due = found.heading.arrive if found.heading.kind == "end" else found.heading.leave
    overdue_s = round((now - due).total_seconds())
    if found.late_s is None:
        return overdue_s if overdue_s > 0 and (found.done or at_heading) else None
    return max(found.late_s, overdue_s)
