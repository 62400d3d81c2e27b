"""Time a given sequence of stops exactly: waits, breaks, the latest start that loses nothing.

The first departure is as early as the shift allows; then the start is put off as far as the same finish
allows, since hours are paid from the start. This gives the shortest day where every place has one window
(M.W.P. Savelsbergh, "The vehicle routing problem with time windows: minimizing route duration", ORSA J.
Computing 4(2), 1992); with several windows a shorter day can exist.
"""

from __future__ import annotations

from math import ceil

from routing.planning.evaluate.rules.scratch import BREAK, LAWFUL, SHIFT, WINDOW, Scratch
from routing.planning.evaluate.rules.tables import CLOSED, NEVER, Tables
from routing.planning.machine_code.records import Ints
from routing.planning.machine_code.text import inlined, kernel


@inlined
def drive(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Set places, metres and seconds of every leg, and return the seconds driven in all."""
    truck, driven = t.trucks[k], 0
    legs = t.legs[truck.matrix]
    here = t.depots[truck.start].place
    first = x.points[0]
    first.place, first.drive_s, first.metres, first.climb_m = here, 0, 0, 0
    for i in range(1, m + 2):
        if i > m:
            there = t.depots[truck.end].place
        else:
            stop = stops[i - 1]
            there = t.visits[stop].place if stop >= 0 else t.depots[-1 - stop].place
        point, leg = x.points[i], legs[here][there]
        point.place, point.drive_s, point.metres, point.climb_m = there, leg.drive_s, leg.metres, leg.climb_m
        driven += leg.drive_s
        here = there
    return driven


@inlined
def run(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Time a route whose legs and loads are known, and return the fault."""
    truck = t.trucks[k]
    _stand(t, x, k, stops, m)
    if _no_time_for_breaks(t, x, k, m + 1):
        return SHIFT
    if not _forward(t, x, k, stops, m, truck.earliest_s):
        return WINDOW
    _start_late(t, x, k, stops, m)
    if _too_long(t, x, k, m + 1):
        return SHIFT
    if truck.break_s and not _rested(t, x, k, m + 1):
        return _with_breaks(t, x, k, stops, m)
    return LAWFUL


@inlined
def _stand(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> None:
    """How long each point lasts, and when calls at depots may begin."""
    release = -NEVER
    for i in range(m, -1, -1):
        x.points[i].pause_s = 0
        stop = stops[i - 1] if i else -1 - t.trucks[k].start
        if stop >= 0:
            release = max(release, t.visits[stop].release_s)
            x.points[i].service_s = t.crews[k][stop].service_s
        else:
            _stand_at_depot(t, x, i, -1 - stop, release)
            release = -NEVER
    end = t.hours[t.trucks[k].end]
    x.points[m + 1].service_s, x.points[m + 1].pause_s = 0, 0
    for w in range(len(end)):
        x.windows[m + 1][w][0], x.windows[m + 1][w][1] = end[w][0], end[w][1]


@inlined
def _stand_at_depot(t: Tables, x: Scratch, i: int, d: int, release: int) -> None:
    depot, day, point, windows, hours = t.depots[d], t.day[0], x.points[i], x.windows[i], t.hours[d]
    service, earliest = 0, release
    if not point.nothing:
        service = _loading_s(t, x, i, d)
        earliest = release - service
        for s in range(len(t.density_g_ml)):
            if t.supplies[d][s].there and x.calls[i][s].taken_ml + x.calls[i][s].pail_ml:
                earliest = max(earliest, t.supplies[d][s].from_s)
    point.service_s = service
    if i == 0 and point.nothing and not point.washes:
        # A truck that stands laden overnight leaves when its crew does, open or not.
        for w in range(len(windows)):
            windows[w][0], windows[w][1] = CLOSED[0], CLOSED[1]
        windows[0][0], windows[0][1] = earliest, NEVER
        return
    if point.washes:
        point.service_s += day.wash_s
    for w in range(len(windows)):
        opens = hours[w][0]
        closes = hours[w][1] - (point.service_s if depot.leave_by else 0)
        if closes < opens or max(opens, earliest) > min(closes, NEVER):
            windows[w][0], windows[w][1] = CLOSED[0], CLOSED[1]
        else:
            windows[w][0], windows[w][1] = max(opens, earliest), min(closes, NEVER)


@inlined
def _loading_s(t: Tables, x: Scratch, i: int, d: int) -> int:
    """Whole seconds to take a load aboard; none when nothing is taken."""
    pails, pumping_s = 0, 0.0
    for s in range(len(t.density_g_ml)):
        pails += x.calls[i][s].pails
        if t.supplies[d][s].there:
            pumping_s += (x.calls[i][s].taken_ml + x.calls[i][s].pail_ml) / t.supplies[d][s].rate_ml_s
    return ceil(t.depots[d].setup_s + pails * t.day[0].pail_load_s + pumping_s - 1e-9)


@kernel
def _forward(t: Tables, x: Scratch, k: int, stops: Ints, m: int, earliest: int) -> bool:
    """Go through the day from an earliest start. False when a place is reached too late."""
    ready = earliest
    for i in range(m + 2):
        point = x.points[i]
        at = ready + point.drive_s
        visit = stops[i - 1] if 0 < i <= m else -1
        windows = t.openings[k][visit] if visit >= 0 else x.windows[i]
        start = -NEVER
        for w in range(len(windows)):
            if at <= windows[w][1]:
                start = max(at, windows[w][0])
                break
        if start == -NEVER:
            return False
        point.arrive = at if i or t.trucks[k].on_the_clock else start
        point.begin = start
        point.leave = start + point.service_s
        ready = point.leave + point.pause_s
    return True


@kernel
def _start_late(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> None:
    """Put the start off as far as the same finish allows; where nothing waits, that is not at all."""
    if t.trucks[k].on_the_clock:
        return
    for i in range(m + 2):
        if x.points[i].begin > x.points[i].arrive:
            _forward(t, x, k, stops, m, _latest_start(t, x, k, stops, m))
            return


@inlined
def _latest_start(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    latest = x.points[m + 1].begin
    for i in range(m, -1, -1):
        latest -= x.points[i + 1].drive_s + x.points[i].pause_s + x.points[i].service_s
        visit = stops[i - 1] if i else -1
        windows = t.openings[k][visit] if visit >= 0 else x.windows[i]
        found = -NEVER
        for w in range(len(windows)):
            if windows[w][0] <= latest:
                found = max(found, min(windows[w][1], latest))
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
    breaks = max(0, -(-(busy + truck.since_break_s) // truck.break_after_s) - 1)
    return busy + breaks * truck.break_s > truck.max_s


@kernel
def _with_breaks(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Place the breaks, from an earlier start where the latest leaves no time for them."""
    truck, late, last = t.trucks[k], x.points[0].arrive, m + 1
    tried, fault = -2 * NEVER, BREAK
    for start in (late, max(truck.earliest_s, late - truck.break_s), truck.earliest_s):
        if start == tried:
            continue
        tried = start
        for i in range(last + 1):
            x.points[i].pause_s = 0
        if not (_forward(t, x, k, stops, m, start) and _place_breaks(t, x, k, stops, m)):
            continue
        begun = x.points[0].arrive
        _start_late(t, x, k, stops, m)
        if not _rested(t, x, k, last):
            # A wait that was a pause from driving is gone: better to wait than to be tired.
            _forward(t, x, k, stops, m, begun)
        if not _too_long(t, x, k, last):
            return LAWFUL
        fault = SHIFT
    return fault


@inlined
def _rested(t: Tables, x: Scratch, k: int, last: int) -> bool:
    """Whether the break rule holds for the times and pauses as they stand."""
    truck = t.trucks[k]
    if x.points[last].begin - x.points[0].arrive + truck.since_break_s <= truck.break_after_s:
        return True
    return _first_tired(t, x, k, last) < 0


@kernel
def _first_tired(t: Tables, x: Scratch, k: int, last: int) -> int:
    """The first point reached (or worked at) past the limit without a break, or -1."""
    truck = t.trucks[k]
    limit = truck.break_after_s
    if truck.break_on_driving:
        driven = truck.since_break_s
        for i in range(last + 1):
            if i and _stood_s(x, i - 1) >= truck.break_s:
                driven = 0
            driven += x.points[i].drive_s
            if driven > limit:
                return i
        return -1
    since = x.points[0].arrive - truck.since_break_s
    for i in range(last + 1):
        if x.points[i].leave - since > limit:
            return i
        if x.points[i].pause_s and i < last:
            since = x.points[i].leave + x.points[i].pause_s
    return -1


@inlined
def _stood_s(x: Scratch, i: int) -> int:
    """Seconds without driving at a point."""
    return x.points[i].leave + x.points[i].pause_s - x.points[i].arrive


@kernel
def _place_breaks(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> bool:
    """Add breaks, each as late as the rule allows unless a wait makes one free; else try every place."""
    begin, length = x.points[0].arrive, t.trucks[k].break_s
    for _ in range(m + 2):
        tired = _first_tired(t, x, k, m + 1)
        if tired < 0:
            return True
        if tired == 0:
            return False
        at = _free_break(x, tired, length)
        if x.points[at].pause_s:
            return False
        x.points[at].pause_s = length
        if not _forward(t, x, k, stops, m, begin):
            x.points[at].pause_s = 0
            return _single_break(t, x, k, stops, m, begin, tired)
    return False


@inlined
def _last_break(x: Scratch, tired: int) -> int:
    for i in range(tired - 1, -1, -1):
        if x.points[i].pause_s:
            return i
    return -1


@inlined
def _free_break(x: Scratch, tired: int, length: int) -> int:
    """The last point before ``tired`` whose next wait swallows a break; else the last of all."""
    for i in range(tired - 1, _last_break(x, tired), -1):
        if x.points[i + 1].begin - x.points[i + 1].arrive >= length:
            return i
    return tired - 1


@kernel
def _single_break(t: Tables, x: Scratch, k: int, stops: Ints, m: int, begin: int, tired: int) -> bool:
    """Try one break after each earlier point since the last break."""
    for at in range(tired - 2, _last_break(x, tired), -1):
        x.points[at].pause_s = t.trucks[k].break_s
        if _forward(t, x, k, stops, m, begin) and _rested(t, x, k, m + 1):
            return True
        x.points[at].pause_s = 0
    return False
