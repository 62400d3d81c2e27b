"""Write the list beside the map: every truck with its stops, the yards left, and the totals of the day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Unserved
from routing.reports.map.charts import day_chart
from routing.reports.map.rows import HEALTH_WORDS, Row, Word, short
from routing.reports.words.format import Units, duration, hhmm, hours, number, plural
from routing.reports.words.names import yard_name
from routing.reports.words.truck_style import TruckStyle
from routing.reports.words.unserved import in_part


@dataclass(frozen=True)
class Figure:
    """One of the figures in the header. ``kind`` is its look: loud or nothing."""

    label: str
    value: str
    kind: str = ""


@dataclass(frozen=True)
class TruckSection:
    """One truck's part of the list. ``chart`` is finished SVG."""

    index: int
    style: TruckStyle
    counts: str
    span: str
    summary: str
    chart: str
    rows: tuple[Row, ...]

    @property
    def find(self) -> str:
        """What a search finds the truck by."""
        return f"{self.style.letter} {self.style.truck_id}".lower()

    @property
    def words(self) -> list[Word]:
        """Each status that some yard of the truck has, once, the most pressing first."""
        found = {word.kind: word for row in self.rows for word in row.words if word.sign}
        return [found[kind] for kind in ("starving", "quarantine", "watch") if kind in found]


@dataclass(frozen=True)
class LeftYard:
    """A yard (or a part of one) that gets nothing today. ``shows`` is the key of the mark to show."""

    key: str
    shows: str
    yard_id: str
    name: str
    words: tuple[Word, ...]
    reason: str
    remedy: str
    facts: str

    @property
    def find(self) -> str:
        """What a search finds the yard by."""
        return short(self.name).lower()


@dataclass(frozen=True)
class LeftGroup:
    """The yards not fed, or those that need nothing."""

    title: str
    unfed: bool
    yards: tuple[LeftYard, ...]


def sections(
    operation: Operation, plan: Plan, styles: Sequence[TruckStyle], rows: Sequence[Sequence[Row]]
) -> list[TruckSection]:
    """One section a route, in the order of the plan."""
    units = Units(operation.units, operation.currency)
    found = []
    for i, (route, style, truck_rows) in enumerate(zip(plan.routes, styles, rows, strict=True)):
        truck = operation.trucks.get(route.truck_id)
        chart = day_chart(route, truck, units, plan.timezone, f"chart{i}") if truck else ""
        start, end = (hhmm(moment, plan.timezone, plan.date) for moment in (route.start, route.end))
        loads = max((row.trip for row in truck_rows), default=1)
        counts = f"{plural(route.totals.served_yards, 'yard')}, {plural(loads, 'load')}"
        summary = _truck_summary(route, units)
        found.append(TruckSection(i, style, counts, f"{start}–{end}", summary, chart, tuple(truck_rows)))
    return found


def _truck_summary(route: Route, units: Units) -> str:
    t = route.totals
    overtime = f", {duration(t.overtime_s)} of it overtime" if t.overtime_s else ""
    return (
        f"{duration(t.work_s)}{overtime}; {units.distance(t.distance_m)}; "
        f"{plural(t.served_colonies, 'colony', 'colonies')}, "
        f"{units.volume(t.volume_l)} of syrup; {units.fuel(t.fuel_l, route.stops)}"
    )


def figures(operation: Operation, plan: Plan) -> list[Figure]:
    """The five figures that are asked for first."""
    units = Units(operation.units, operation.currency)
    t, unfed = plan.totals, len(plan.unfed)
    return [
        Figure("fed" if t.served_yards != 1 else "yard fed", number(t.served_yards)),
        Figure("not fed", number(unfed), "loud" if unfed else ""),
        Figure(units.volume_unit, number(units.volume_value(t.volume_l))),
        Figure("h", hours(t.work_s).removesuffix(" h")),
        Figure(units.currency or "cost", number(t.cost.total)),
    ]


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


def left_groups(
    operation: Operation, plan: Plan, rows: Iterable[Sequence[Row]]
) -> tuple[LeftGroup, LeftGroup]:
    """Yards that went without (starving first, then by days of stores), and those that need nothing.

    A yard fed in part has no mark of its own: its row leads to the last stop there.
    """
    stops = {row.place_id: row.key for truck_rows in rows for row in truck_rows if row.kind == "yard"}
    keys = {id(left): f"u{i}" for i, left in enumerate(plan.unserved)}

    def group(title: str, unfed: bool, yards: Iterable[Unserved]) -> LeftGroup:
        found = (_left_yard(operation, plan, keys[id(u)], stops.get(u.yard_id), u) for u in yards)
        return LeftGroup(title, unfed, tuple(found))

    return group("Not fed today", True, plan.unfed), group("Need nothing today", False, plan.nothing_due)


def _left_yard(operation: Operation, plan: Plan, key: str, stop: str | None, left: Unserved) -> LeftYard:
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
        shows=stop or key,
        yard_id=left.yard_id,
        name=yard_name(operation, left.yard_id),
        words=tuple(words),
        reason=left.reason,
        remedy=left.remedy,
        facts=", ".join(facts),
    )
