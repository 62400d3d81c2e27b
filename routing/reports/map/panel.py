"""Write the text beside the map: totals and cautions on top, then yards left and every truck's stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Unserved
from routing.domain.travel import Travel
from routing.reports.map.charts import day_chart
from routing.reports.map.rows import HEALTH_WORDS, Row, Word
from routing.reports.words.format import Units, duration, hhmm, number, plural
from routing.reports.words.names import yard_name
from routing.reports.words.truck_style import TruckStyle
from routing.reports.words.unserved import in_part


@dataclass(frozen=True)
class Trip:
    """The stops from one loading to the next."""

    number: int
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class TruckSection:
    """One truck's part of the panel. ``chart`` is finished SVG."""

    index: int
    style: TruckStyle
    summary: str
    chart: str
    trips: tuple[Trip, ...]


@dataclass(frozen=True)
class LeftYard:
    """A yard (or a part of one) that gets nothing today. ``shows`` is the key of the marker to show."""

    key: str
    shows: str
    yard_id: str
    name: str
    words: tuple[Word, ...]
    reason: str
    remedy: str
    facts: str


@dataclass(frozen=True)
class Caution:
    """A caution on top of the page; ``loud`` ones come first."""

    text: str
    where: str = ""
    loud: bool = False


def sections(
    operation: Operation, plan: Plan, styles: Sequence[TruckStyle], rows: Sequence[Sequence[Row]]
) -> list[TruckSection]:
    """One section a route, in the order of the plan."""
    units = Units(operation.units, operation.currency)
    found = []
    for i, (route, style, truck_rows) in enumerate(zip(plan.routes, styles, rows, strict=True)):
        truck = operation.trucks.get(route.truck_id)
        chart = day_chart(route, truck, units, plan.timezone, f"chart{i}") if truck else ""
        trips = tuple(Trip(n, tuple(part)) for n, part in groupby(truck_rows, key=lambda row: row.trip))
        found.append(TruckSection(i, style, _truck_summary(route, plan, units), chart, trips))
    return found


def _truck_summary(route: Route, plan: Plan, units: Units) -> str:
    t = route.totals
    start, end = (hhmm(moment, plan.timezone, plan.date) for moment in (route.start, route.end))
    overtime = f", {duration(t.overtime_s)} of it overtime" if t.overtime_s else ""
    return (
        f"{start} to {end}: {duration(t.work_s)}{overtime}; {units.distance(t.distance_m)}; "
        f"{plural(t.served_yards, 'yard')}, {plural(t.served_colonies, 'colony', 'colonies')}, "
        f"{units.volume(t.volume_l)} of syrup; {units.fuel(t.fuel_l, route.stops)}"
    )


def totals(operation: Operation, plan: Plan) -> list[tuple[str, str]]:
    """Name and value of each total, the most asked for first."""
    units = Units(operation.units, operation.currency)
    t = plan.totals
    rows = [
        ("Yards fed", number(t.served_yards)),
        ("Not fed", number(len(plan.unfed))),
        ("Need nothing", number(len(plan.nothing_due))),
        ("Colonies fed", number(t.served_colonies)),
        ("Syrup", units.volume(t.volume_l)),
        ("Trucks", number(len(plan.routes))),
        ("Work", duration(t.work_s)),
        ("Overtime", duration(t.overtime_s)),
        ("Distance", units.distance(t.distance_m)),
        ("Fuel", units.volume(t.fuel_l)),
        ("CO₂", units.mass(t.co2_kg)),
        ("Cost", units.money(t.cost.total)),
    ]
    return [(name, value) for name, value in rows if name != "Overtime" or t.overtime_s]


def cautions(operation: Operation, plan: Plan, travel: Travel) -> list[Caution]:
    """All that must be known before driving, loudest first, each once."""
    found = []
    if not plan.audit.passed:
        found.append(Caution("This plan has not passed its check. Do not drive by it.", loud=True))
    for left in plan.unserved:
        if left.starving:
            name = yard_name(operation, left.yard_id)
            said = "; ".join(part for part in (left.reason, left.remedy) if part)
            found.append(Caution(f"Starving and not fed: {said}", name, True))
    if travel.provenance.estimated:
        note = travel.provenance.note.removeprefix("Estimated: ")
        found.append(Caution(f"Distances and times are estimated: {note}", loud=True))
    for warning in plan.warnings:
        where = _place_name(operation, warning.place_id)
        said = warning.text.removeprefix(f"{where}: ") if where else warning.text
        # A sentence that begins with the place needs no heading that says it again.
        where = "" if where and said.startswith(where) else where
        found.append(Caution(said, where, warning.code == "starving_unserved"))
    return sorted(dict.fromkeys(found), key=lambda caution: not caution.loud)


def _place_name(operation: Operation, place_id: str | None) -> str:
    if place_id is None:
        return ""
    place = operation.yards.get(place_id) or operation.depots.get(place_id)
    # A yard that is done is no part of the rest of the day any more; the caution names it.
    return (place.name or place_id) if place else ""


def left_yards(operation: Operation, plan: Plan, unfed: bool) -> list[LeftYard]:
    """Yards that went without (starving first, then by days of stores), or those that need nothing."""
    keys = {id(left): f"u{i}" for i, left in enumerate(plan.unserved)}
    return [_left_yard(operation, plan, keys[id(u)], u) for u in (plan.unfed if unfed else plan.nothing_due)]


def _left_yard(operation: Operation, plan: Plan, key: str, left: Unserved) -> LeftYard:
    units = Units(operation.units, operation.currency)
    yard = operation.yards.get(left.yard_id)
    words = [Word("starving", "STARVING")] if left.starving else []
    if yard is not None and yard.health in HEALTH_WORDS:
        words.append(Word(yard.health.value, HEALTH_WORDS[yard.health]))
    if in_part(plan, left):
        words.append(Word("part", "FED IN PART"))
    facts = [f"{number(left.days_of_stores)} days of stores"]
    if left.volume_l > 0:
        facts.append(f"{plural(left.colonies, 'colony', 'colonies')} short of {units.volume(left.volume_l)}")
    return LeftYard(
        key=key,
        shows=key,
        yard_id=left.yard_id,
        name=yard_name(operation, left.yard_id),
        words=tuple(words),
        reason=left.reason,
        remedy=left.remedy,
        facts=", ".join(facts),
    )
