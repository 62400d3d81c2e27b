"""Page 1 of a run sheet: the whole day of one truck in one table, with a sketch of its route."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from routing.domain.places import Health
from routing.domain.plan import Stop
from routing.reports.sheet.day import SheetDay
from routing.reports.sheet.model import DayPage, DayRow
from routing.reports.sheet.sketch import Ground, Point
from routing.reports.words.format import duration, number
from routing.reports.words.names import day_text, first_page, place_name, urgent_text
from routing.reports.words.stop_facts import day_cautions, opening_at
from routing.reports.words.supply_names import syrup_name
from routing.reports.words.text import clean, one_line

LEADS = {"start": "LOAD", "refill": "REFILL", "wash": "WASH DOWN", "break": "BREAK", "end": "BACK"}


def day_page(day: SheetDay, made: str, intro: str) -> DayPage:
    """Page 1 of a truck's sheet. ``made`` says which plan it is, and when it was made; ``intro`` how
    the figures of the sheet are to be read.
    """
    route, units = day.route, day.units
    used = [pour.syrup_id for stop in route.stops for pour in stop.pour]
    syrups = list(dict.fromkeys([*used, *(fill.syrup_id for stop in route.stops for fill in stop.fill)]))
    tanks = list(route.stops[0].after.tanks) if route.stops else []
    spare_s = _spare_s(day)
    back = day.clock(route.end)
    figures = [
        (number(sum(stop.kind == "yard" for stop in route.stops)), "yards"),
        (day.clock(route.start), "goes on" if day.truck and day.truck.underway else "load"),
        (back, "back"),
        (number(units.volume_value(route.totals.volume_l)), units.volume_unit),
        (number(units.distance_value(route.totals.distance_m)), units.distance_unit),
    ]
    if spare_s is not None:
        figures.append((duration(spare_s // 60 * 60), "spare"))
    return DayPage(
        letter=day.letter,
        title=f"Truck {one_line(route.truck_id)}",
        date_text=f"{day_text(day.plan.date)}, {made}",
        figures=tuple(figures),
        syrups=tuple(syrup_name(day.operation, syrup) for syrup in syrups),
        tanks=tuple(one_line(tank.replace("_", " ")) for tank in tanks),
        units=(units.volume_unit, _weight_unit(day)),
        rows=tuple(_row(day, stop, syrups, tanks, spare_s) for stop in route.stops),
        legend=f"{_legend(day)} {intro}",
        cautions=_cautions(day),
        ground=ground_of(day),
    )


def _spare_s(day: SheetDay) -> float | None:
    """How much later everything may be with the truck still back in time; None where nothing is known."""
    last = day.route.stops[-1] if day.route.stops else None
    if last is None or last.latest_arrive is None:
        return None
    return (last.latest_arrive - last.arrive).total_seconds()


def _row(day: SheetDay, stop: Stop, syrups: list[str], tanks: list[str], spare_s: float | None) -> DayRow:
    units, taken = day.units, bool(stop.fill)
    moved = [(r.syrup_id, r.volume_l, r.tank_id, r.pails) for r in stop.pour]
    moved += [(r.syrup_id, r.volume_l, r.tank_id, r.pails) for r in stop.fill]
    pumped = {syrup: sum(v for s, v, tank, _ in moved if s == syrup and tank is not None) for syrup in syrups}
    pails = sum(count for _, _, tank, count in moved if tank is None)
    sign = "+" if taken else ""
    late = stop.latest_arrive
    own_s = (late - stop.arrive).total_seconds() if late else None
    need = day.needs.get(stop.place_id)
    yard = day.operation.yards.get(stop.place_id) if stop.kind == "yard" else None
    starving = stop.kind == "yard" and (stop.starving or (need is not None and need.starving))
    return DayRow(
        kind=stop.kind,
        mark=day.marks[stop.seq] if stop.kind == "yard" else "",
        name=_name(day, stop),
        arrive=day.clock(stop.arrive),
        latest=day.clock(late) if late else "",
        amounts=tuple(
            f"{sign}{number(units.volume_value(v), 1)}" if (v := pumped[syrup]) >= 0.05 else ""
            for syrup in syrups
        ),
        pails=f"{sign}{pails}" if pails else "",
        mind=_mind(day, stop, starving),
        left=tuple(_level(day, stop, tank) for tank in tanks),
        weight=number(units.mass_value(stop.after.gross_kg)),
        early=own_s is not None and spare_s is not None and own_s < spare_s - 59,
        strong=starving or (yard is not None and yard.health is Health.QUARANTINE),
    )


def _name(day: SheetDay, stop: Stop) -> str:
    state = day.truck.underway if day.truck and stop.kind == "start" else None
    lead = LEADS.get(stop.kind, "")
    if state is not None and not stop.fill:
        lead = "FROM"
    if stop.kind == "break":
        lead = f"BREAK {duration((stop.leave - stop.begin).total_seconds())}"
    return " ".join(part for part in (lead, one_line(place_name(day.operation, stop))) if part)


def _level(day: SheetDay, stop: Stop, tank: str) -> str:
    state = stop.after.tanks.get(tank)
    return number(day.units.volume_value(state.volume_l)) if state and state.volume_l >= 0.05 else "-"


def _mind(day: SheetDay, stop: Stop, starving: bool) -> str:
    """What to mind at a stop, in a word or two each."""
    yard = day.operation.yards.get(stop.place_id) if stop.kind == "yard" else None
    if stop.kind in ("start", "refill"):
        return f"leave {day.clock(stop.leave)}"
    if yard is None:
        return f"until {day.clock(stop.leave)}" if stop.kind == "break" else ""
    words = ["NEW"] * (stop.seq in day.new) + ["URGENT"] * bool(urgent_text(day.plan, stop.place_id))
    words += ["STARVING"] * starving
    words += {Health.QUARANTINE: ["QUARANTINE"], Health.WATCH: ["watch"]}.get(yard.health, [])
    opening = opening_at(day, stop.begin, yard.windows) if yard.windows else None
    words += [f"gate {'-'.join(opening)}"] if opening else ["gate"] * bool(yard.gate)
    words += ["hazard"] * bool(yard.hazards) + ["weak track"] * (yard.max_gross_kg is not None)
    wait_s = (stop.begin - stop.arrive).total_seconds()
    words += [f"begin {day.clock(stop.begin)}"] * (wait_s >= 60)
    return ", ".join(words)


def _weight_unit(day: SheetDay) -> str:
    limit = f" of {number(day.units.mass_value(day.truck.gvwr_kg))}" if day.truck else ""
    return f"{day.units.mass_unit}{limit}"


def _legend(day: SheetDay) -> str:
    call = one_line(day.operation.work.emergency_number) or "your local emergency number"
    return (
        "Latest: the last arrival that still keeps every gate, the break and the end of the shift; bold "
        "where a gate or the break comes before the shift's end. Tanks and weight: on leaving. Line of the "
        "map: full before the first refill, dashed after it. On the cards, light: alive but weak. "
        f"Emergency: {call}."
    )


def _cautions(day: SheetDay) -> tuple[str, ...]:
    """What holds for the whole day of this truck: said here, and on no card."""
    read = first_page(day.plan)
    own = [w.text for w in day.plan.warnings if w.truck_id == day.route.truck_id and w not in read]
    return tuple(dict.fromkeys(clean(text) for text in (*own, *day_cautions(day))))


def ground_of(day: SheetDay) -> Ground:
    """The lines of the legs with the load they belong to, and the stops with their numbers."""
    legs: list[tuple[tuple[Point, ...], int]] = []
    trip = 0
    for before, stop in pairwise(day.route.stops):
        trip += before.kind == "refill"
        line = stop.leg.geometry or ((before.lon, before.lat), (stop.lon, stop.lat))
        if len(set(line)) > 1:
            legs.append((tuple(line), trip))
    found: dict[tuple[Point, bool], list[Stop]] = {}
    for stop in day.route.stops:
        if stop.kind != "break":
            found.setdefault(((stop.lon, stop.lat), stop.kind == "yard"), []).append(stop)
    return Ground(tuple(legs), tuple(_dot(day, at, yard, stops) for (at, yard), stops in found.items()))


def _dot(day: SheetDay, at: Point, yard: bool, stops: Sequence[Stop]) -> tuple[Point, str, bool, bool, bool]:
    place = day.operation.yards.get(stops[0].place_id) if yard else None
    number = ",".join(day.marks[stop.seq] for stop in stops) if yard else ""
    sick = place is not None and place.health is Health.QUARANTINE
    return at, number, not yard, yard and any(stop.starving for stop in stops), sick
