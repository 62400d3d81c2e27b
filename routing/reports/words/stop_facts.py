"""Say what keeps a crew safe at a yard: gate, hazards, limits, the way in. Map and sheet say the same."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from routing.domain.clock import TimeWindow
from routing.domain.places import Yard
from routing.domain.plan import Stop
from routing.reports.words.format import duration, windows
from routing.reports.words.names import sentence, urgent_text
from routing.reports.words.route_day import Fact, RouteDay
from routing.reports.words.text import one_line
from routing.reports.words.way import way_text

URGENT_COST = 160
QUARANTINE = "quarantine"


def drive_text(day: RouteDay, stop: Stop) -> str:
    """``6.7 mi, 14 min: N 2.1, E 4.6``: the way from the stop before; empty where there is no drive."""
    leg = stop.leg
    if not leg.distance_m and not leg.drive_s:
        return ""
    way = way_text(day.units, stop)
    return f"{day.units.distance(leg.distance_m)}, {duration(leg.drive_s)}{': ' if way else ''}{way}"


def yard_facts(day: RouteDay, stop: Stop) -> Iterator[Fact]:
    """All that is known of a yard and matters at its gate, what must not be missed marked as strong."""
    yard = day.operation.yards.get(stop.place_id)
    if yard is None:
        return
    need = day.needs.get(stop.place_id)
    if need is not None and need.windows is not None:
        yield Fact("Feed only", windows(need.windows), strong=True)
    if yard.gate or yard.windows:
        hours = hours_text(day, stop, yard.windows)
        yield Fact("Gate", f"{hours}. {yard.gate}" if yard.gate else hours, strong=True)
    if yard.hazards:
        yield Fact("HAZARDS", yard.hazards, strong=True)
    if limits := limits_text(day, stop, yard):
        yield Fact("Limits", limits, strong=True)
    if not yard.level:
        # The amounts are already cut for the tilt: a driver told to fill less would cut them twice.
        yield Fact("Ground", "not level: amounts allow for it, watch for overflow")
    if yard.directions:
        yield Fact("Way in", yard.directions)
    if yard.contact:
        yield Fact("Contact", yard.contact)
    if yard.note:
        yield Fact("Note", yard.note)


def own_cautions(day: RouteDay, stop: Stop, *, flagged: bool = False) -> list[str]:
    """What plan and need warn of at this yard and no other, each once.

    What is said of every yard of the day stands once on the first page (``day_cautions``). ``flagged``: the
    card says quarantine in a frame, which need not be said again.
    """
    need = day.needs.get(stop.place_id)
    urgent = urgent_text(day.plan, stop.place_id)
    framed = "" if len(one_line(urgent)) > URGENT_COST else urgent
    here = [w for w in day.plan.warnings if w.place_id == stop.place_id and w.text != framed]
    texts = [w.text for w in here if not (flagged and w.code == QUARANTINE)]
    texts += need.cautions if need is not None else ()
    shared = set(day_cautions(day))
    return [text for text in dict.fromkeys((*texts, *stop.notes)) if text and text not in shared]


def day_cautions(day: RouteDay) -> list[str]:
    """Notes that hold for at least half of the yards of a route, and for two or more: once for the day."""
    yards = [stop for stop in day.route.stops if stop.kind == "yard"]
    notes = [note for stop in yards for note in dict.fromkeys(stop.notes)]
    return [note for note in dict.fromkeys(notes) if notes.count(note) >= max(2, len(yards) / 2)]


def cautions_text(day: RouteDay, stop: Stop) -> str:
    """The cautions of one yard as running text."""
    return " ".join(sentence(text) for text in own_cautions(day, stop, flagged=True))


def hours_text(day: RouteDay, stop: Stop, gate: tuple[TimeWindow, ...]) -> str:
    """Gate hours in words, with what they bind: the whole visit, or only its beginning."""
    if not gate:
        return "no set hours"
    opening = opening_at(day, stop.begin, gate)
    text = f"open {windows(gate)}"
    if opening is None:
        return text
    bound = "be out" if day.operation.shift.leave_by_window else "begin"
    return f"{text}, {bound} by {opening[1]}"


def opening_at(day: RouteDay, begin: datetime, gate: tuple[TimeWindow, ...]) -> tuple[str, str] | None:
    """Start and end, on the clock, of the opening in which a visit begins."""
    clock = day.operation.clock(day.plan.date)
    at = clock.seconds(begin)
    for start, end in clock.openings(gate, at, at):
        if start <= at <= end:
            return day.clock(clock.at(start)), day.clock(clock.at(end))
    return None


def limits_text(day: RouteDay, stop: Stop, yard: Yard) -> str:
    """What track, bridge and length allow at a yard, and what the truck brings."""
    parts = []
    if yard.max_gross_kg is not None:
        coming = day.units.mass(day.before(stop).gross_kg)
        parts.append(f"track or bridge {day.units.mass(yard.max_gross_kg)}, you come with {coming}")
    if yard.max_length_m is not None:
        parts.append(f"truck length {day.units.length(yard.max_length_m)}")
    if yard.trucks:
        parts.append(f"only truck {', '.join(yard.trucks)}")
    return "; ".join(parts)
