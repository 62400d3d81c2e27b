"""Short wordings of a run sheet: dates, syrups, feeders, levels, health."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from routing.domain.operation import Operation
from routing.domain.places import Health
from routing.domain.plan import Aboard, Plan, Stop, Warning_
from routing.reports.words.format import Units, hhmm, number
from routing.reports.words.supply_names import syrup_name
from routing.reports.words.text import one_line

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
HEALTH_WORDS = {
    Health.CLEAN: "clean",
    Health.WATCH: "WATCH: under watch for disease. Clean gloves and tools before and after. "
    "Move nothing from here to another yard.",
    Health.QUARANTINE: "QUARANTINE: disease. Go only with a permit. No pail, comb, tool or glove leaves "
    "for another yard. Bring no pail back. Wash down before any clean yard.",
}
SKIP_REASONS = (
    "gate",
    "mud",
    "owner",
    "robbing",
    "sick brood",
    "cold, wet",
    "supers",
    "no syrup",
    "no time",
    "other",
)


FIRST_PAGE = ("break_overdue", "silent")
"""Cautions of the moment a re-plan is made at: they stand on the first page of its sheets."""


URGENT = "urgent"
"""Code of the caution that a yard was called in while the day went on."""


def first_page(plan: Plan) -> list[Warning_]:
    """The cautions that a crew must read before it goes on."""
    return [w for code in FIRST_PAGE for w in plan.warnings if plan.replaces and w.code == code]


def urgent_text(plan: Plan, yard_id: str) -> str:
    """``URGENT: bees hang out (called in at 11:05, 20 gal in all)``; empty where nobody called."""
    return next((w.text for w in plan.warnings if w.code == URGENT and w.place_id == yard_id), "")


def day_text(day: date) -> str:
    """``Mon 6 Oct 2025``, whatever the language settings of the machine."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def issue_text(plan: Plan, made_at: datetime | None = None) -> str:
    """``plan 4f2a, made 11:20, replaces 9c1d, checked``: which plan this is, so that two are never mixed."""
    made = f"made {hhmm(made_at, plan.timezone, plan.date)}" if made_at else ""
    replaces = f"replaces {plan.replaces}" if plan.replaces else ""
    checked = "checked" if plan.audit.passed else "NOT CHECKED"
    return joined((f"plan {plan.plan_id}", made, replaces, checked), ", ")


def days_text(days: float) -> str:
    """Days of stores; what was capped (no use, or a flow) says so."""
    return "999+" if days >= 999 else number(days)


def yard_name(operation: Operation, yard_id: str) -> str:
    """The yard's name, or its id where it has none (or is not known)."""
    yard = operation.yards.get(yard_id)
    return (yard.name if yard else "") or yard_id


def depot_name(operation: Operation, depot_id: str) -> str:
    """The depot's name, or its id."""
    depot = operation.depots.get(depot_id)
    return (depot.name if depot else "") or depot_id


def place_name(operation: Operation, stop: Stop) -> str:
    """Where a stop is; a break stands at a yard or at a depot."""
    if stop.kind == "yard" or (stop.kind == "break" and stop.place_id in operation.yards):
        return yard_name(operation, stop.place_id)
    return depot_name(operation, stop.place_id)


def syrup_text(operation: Operation, syrup_id: str | None) -> str:
    """``2:1 sugar, lot 7``; ``empty`` for no syrup."""
    if syrup_id is None:
        return "empty"
    syrup = operation.syrups.get(syrup_id)
    lot = f", lot {syrup.lot}" if syrup and syrup.lot else ""
    return one_line(f"{syrup_name(operation, syrup_id)}{lot}")


def levels_text(operation: Operation, before: Aboard, after: Aboard) -> str:
    """``A (2:1 sugar) 272.0 -> 212.0 gal; B empty``: what each gauge reads on coming and on leaving."""
    units = Units(operation.units)
    parts = []
    for tank_id, state in after.tanks.items():
        was = before.tanks.get(tank_id)
        was_l = was.volume_l if was else state.volume_l
        if max(was_l, state.volume_l) < 0.05:
            parts.append(f"{tank_id} empty")
            continue
        syrup_id = state.syrup_id or (was.syrup_id if was else None)
        change = units.volume(state.volume_l)
        if abs(was_l - state.volume_l) >= 0.05:
            change = f"{number(units.volume_value(was_l), 1)} → {change}"
        parts.append(f"{tank_id} ({syrup_name(operation, syrup_id)}) {change}")
    return one_line("; ".join(parts))


def pails_text(aboard: Aboard) -> str:
    """``12 full, 8 empty``; nothing where the truck carries none."""
    if not aboard.pails_full and not aboard.pails_empty:
        return ""
    return f"{aboard.pails_full} full, {aboard.pails_empty} empty"


def joined(parts: Iterable[str], sep: str = " · ") -> str:
    """What there is, in one line."""
    return sep.join(part for part in parts if part)


def sentence(text: str) -> str:
    """The text with a capital at its beginning and a full stop at its end."""
    text = text.strip() or "not said"
    text = text[0].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
