"""Run one route through the day, with waits and breaks: ``planning.schedule``."""

from __future__ import annotations

from math import ceil

from routing.planning.compiled.scratch import LAWFUL, OTHER, Scratch
from routing.planning.compiled.tables import CLOSED, NEVER, Ints, Tables
from routing.planning.machine_code.jit import inlined, jit


@inlined
def drive(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Set places, metres and seconds of every leg; the seconds driven in all."""
    truck, driven = t.trucks[k], 0
    table = truck.matrix
    here = t.depots[truck.start].place
    x.points[0].place, x.points[0].drive_s, x.points[0].metres = here, 0, 0
    for i in range(1, m + 2):
        if i > m:
            there = t.depots[truck.end].place
        else:
            stop = stops[i - 1]
            there = t.visits[stop].place if stop >= 0 else t.depots[-1 - stop].place
        x.points[i].place = there
        x.points[i].drive_s = t.legs[table, here, there].drive_s
        x.points[i].metres = t.legs[table, here, there].metres
        driven += x.points[i].drive_s
        here = there
    return driven


@inlined
def run(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Time a route whose legs and loads are known; the fault."""
    truck, last = t.trucks[k], m + 1
    _stand(t, x, k, stops, m)
    if _no_time_for_breaks(t, x, k, last) or not _forward(t, x, k, truck.earliest_s, last):
        return OTHER
    _start_late(t, x, k, last)
    if _too_long(t, x, k, last):
        return OTHER
    if truck.break_s and not _rested(t, x, k, last):
        return _with_breaks(t, x, k, last)
    return LAWFUL


@inlined
def _stand(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> None:
    """When each point may begin, and how long it lasts."""
    release = -NEVER
    for i in range(m, -1, -1):
        x.points[i].pause_s = 0
        stop = stops[i - 1] if i else -1 - t.trucks[k].start
        if stop >= 0:
            release = max(release, t.visits[stop].release_s)
            x.points[i].service_s = t.crews[k, stop].service_s
            for w in range(t.openings.shape[2]):
                x.windows[i, w, 0] = t.openings[k, stop, w, 0]
                x.windows[i, w, 1] = t.openings[k, stop, w, 1]
            _close_rest(x, i, t.openings.shape[2])
        else:
            _stand_at_depot(t, x, i, -1 - stop, release)
            release = -NEVER
    end = t.trucks[k].end
    x.points[m + 1].service_s, x.points[m + 1].pause_s = 0, 0
    for w in range(t.hours.shape[1]):
        x.windows[m + 1, w, 0] = t.hours[end, w, 0]
        x.windows[m + 1, w, 1] = t.hours[end, w, 1]
    _close_rest(x, m + 1, t.hours.shape[1])


@inlined
def _close_rest(x: Scratch, i: int, first: int) -> None:
    for w in range(first, x.windows.shape[1]):
        x.windows[i, w, 0] = CLOSED[0]
        x.windows[i, w, 1] = CLOSED[1]


@inlined
def _stand_at_depot(t: Tables, x: Scratch, i: int, d: int, release: int) -> None:
    depot, day = t.depots[d], t.day[0]
    service, earliest = 0, release
    if not x.points[i].nothing:
        pails, seconds = 0, 0.0
        for s in range(t.density_g_ml.size):
            pails += x.calls[i, s].pails
        seconds = depot.setup_s + pails * day.pail_load_s
        for s in range(t.density_g_ml.size):
            if t.supplies[d, s].there:
                seconds += (x.calls[i, s].taken_ml + x.calls[i, s].pail_ml) / t.supplies[d, s].rate_ml_s
        service = ceil(seconds - 1e-9)
        earliest = release - service
        for s in range(t.density_g_ml.size):
            if t.supplies[d, s].there and x.calls[i, s].taken_ml + x.calls[i, s].pail_ml:
                earliest = max(earliest, t.supplies[d, s].from_s)
    x.points[i].service_s = service
    if i == 0 and x.points[i].nothing and not x.points[i].washes:
        x.windows[i, 0, 0], x.windows[i, 0, 1] = earliest, NEVER
        _close_rest(x, i, 1)
        return
    if x.points[i].washes:
        x.points[i].service_s += day.wash_s
    for w in range(t.hours.shape[1]):
        opens = t.hours[d, w, 0]
        closes = t.hours[d, w, 1] - (x.points[i].service_s if depot.leave_by else 0)
        if closes < opens or max(opens, earliest) > min(closes, NEVER):
            x.windows[i, w, 0], x.windows[i, w, 1] = CLOSED[0], CLOSED[1]
        else:
            x.windows[i, w, 0], x.windows[i, w, 1] = max(opens, earliest), min(closes, NEVER)
    _close_rest(x, i, t.hours.shape[1])


@inlined
def _forward(t: Tables, x: Scratch, k: int, earliest: int, last: int) -> bool:
    """Go through the day from an earliest start. False when a place is reached too late."""
    ready = earliest
    for i in range(last + 1):
        at = ready + x.points[i].drive_s
        start = -NEVER
        for w in range(x.windows.shape[1]):
            if at <= x.windows[i, w, 1]:
                start = max(at, x.windows[i, w, 0])
                break
        if start == -NEVER:
            return False
        x.points[i].arrive = at if i or t.trucks[k].on_the_clock else start
        x.points[i].begin = start
        x.points[i].leave = start + x.points[i].service_s
        ready = x.points[i].leave + x.points[i].pause_s
    return True


@inlined
def _start_late(t: Tables, x: Scratch, k: int, last: int) -> None:
    """Put the start off as far as the same finish allows."""
    if t.trucks[k].on_the_clock:
        return
    for i in range(last + 1):
        if x.points[i].begin > x.points[i].arrive:
            _forward(t, x, k, _latest_start(x, last), last)
            return


@inlined
def _latest_start(x: Scratch, last: int) -> int:
    latest = x.points[last].begin
    for i in range(last - 1, -1, -1):
        latest -= x.points[i + 1].drive_s + x.points[i].pause_s + x.points[i].service_s
        found = -NEVER
        for w in range(x.windows.shape[1]):
            if x.windows[i, w, 0] <= latest:
                found = max(found, min(x.windows[i, w, 1], latest))
        latest = found
    return latest


@inlined
def _too_long(t: Tables, x: Scratch, k: int, last: int) -> bool:
    return (
        x.points[last].begin > t.trucks[k].latest_s
        or x.points[last].begin - x.points[0].arrive > t.trucks[k].max_s
    )


@inlined
def _no_time_for_breaks(t: Tables, x: Scratch, k: int, last: int) -> bool:
    """Whether the breaks that so much driving and standing calls for are more than the hours hold."""
    truck, busy = t.trucks[k], 0
    if not truck.break_s or truck.break_on_driving:
        return False
    for i in range(last + 1):
        busy += x.points[i].drive_s + x.points[i].service_s
    breaks = max(0, -(-(busy + truck.tired_s) // truck.break_after_s) - 1)
    return busy + breaks * truck.break_s > truck.max_s


@jit
def _with_breaks(t: Tables, x: Scratch, k: int, last: int) -> int:
    """Place the breaks, from an earlier start where the latest leaves no time for them."""
    truck, late = t.trucks[k], x.points[0].arrive
    tried = -2 * NEVER
    for start in (late, max(truck.earliest_s, late - truck.break_s), truck.earliest_s):
        if start == tried:
            continue
        tried = start
        for i in range(last + 1):
            x.points[i].pause_s = 0
        if not (_forward(t, x, k, start, last) and _place_breaks(t, x, k, last)):
            continue
        begun = x.points[0].arrive
        _start_late(t, x, k, last)
        if not _rested(t, x, k, last):
            # A wait that was a pause from driving is gone: better to wait than to be tired.
            _forward(t, x, k, begun, last)
        if not _too_long(t, x, k, last):
            return LAWFUL
    return OTHER


@inlined
def _rested(t: Tables, x: Scratch, k: int, last: int) -> bool:
    """Whether the break rule holds for the times and pauses as they stand."""
    truck = t.trucks[k]
    if x.points[last].begin - x.points[0].arrive + truck.tired_s <= truck.break_after_s:
        return True
    return _first_tired(t, x, k, last) < 0


@inlined
def _first_tired(t: Tables, x: Scratch, k: int, last: int) -> int:
    """The first point reached (or worked at) past the limit without a break, or -1."""
    truck = t.trucks[k]
    limit = truck.break_after_s
    if truck.break_on_driving:
        driven = truck.tired_s
        for i in range(last + 1):
            if (
                i
                and x.points[i - 1].leave + x.points[i - 1].pause_s - x.points[i - 1].arrive >= truck.break_s
            ):
                driven = 0
            driven += x.points[i].drive_s
            if driven > limit:
                return i
        return -1
    since = x.points[0].arrive - truck.tired_s
    for i in range(last + 1):
        if x.points[i].leave - since > limit:
            return i
        if x.points[i].pause_s and i < last:
            since = x.points[i].leave + x.points[i].pause_s
    return -1


@jit
def _place_breaks(t: Tables, x: Scratch, k: int, last: int) -> bool:
    """Add breaks, each as late as the rule allows unless a wait makes one free; else try every place."""
    begin, length = x.points[0].arrive, t.trucks[k].break_s
    for _ in range(last + 1):
        tired = _first_tired(t, x, k, last)
        if tired < 0:
            return True
        if tired == 0:
            return False
        at = _free_break(x, tired, length)
        if x.points[at].pause_s:
            return False
        x.points[at].pause_s = length
        if not _forward(t, x, k, begin, last):
            x.points[at].pause_s = 0
            return _single_break(t, x, k, begin, tired, last)
    return False


@jit
def _last_break(x: Scratch, tired: int) -> int:
    for i in range(tired - 1, -1, -1):
        if x.points[i].pause_s:
            return i
    return -1


@jit
def _free_break(x: Scratch, tired: int, length: int) -> int:
    """The last point before ``tired`` whose next wait swallows a break; else the last of all."""
    for i in range(tired - 1, _last_break(x, tired), -1):
        if x.points[i + 1].begin - x.points[i + 1].arrive >= length:
            return i
    return tired - 1


@jit
def _single_break(t: Tables, x: Scratch, k: int, begin: int, tired: int, last: int) -> bool:
    """Try one break after each earlier point since the last break."""
    for at in range(tired - 2, _last_break(x, tired), -1):
        x.points[at].pause_s = t.trucks[k].break_s
        if _forward(t, x, k, begin, last) and _rested(t, x, k, last):
            return True
        x.points[at].pause_s = 0
    return False
