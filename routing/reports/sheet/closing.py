"""The last boxes of a run sheet: what is not served, long texts, totals and cautions."""

from __future__ import annotations

from collections.abc import Iterable

from routing.domain.places import Health
from routing.domain.plan import Unserved, Warning_
from routing.reports.sheet.day import SheetDay
from routing.reports.sheet.model import Blank, Block
from routing.reports.words.format import duration, plural
from routing.reports.words.names import days_text, depot_name, first_page, sentence, yard_name
from routing.reports.words.route_day import Fact
from routing.reports.words.text import clean, one_line
from routing.reports.words.unserved import by_reason, in_part, not_fed

LIFTED = "A 5 gal (19 L) pail of 2:1 weighs 55 lb (25 kg)"


def unserved_block(day: SheetDay) -> Block | None:
    """Yards that go without today, each with reason and remedy; then those that need nothing."""
    plan = day.plan
    if not plan.unserved:
        return None
    wanting = [left for left in plan.unfed if left.volume_l > 0 or left.starving]
    facts = [_short_fact(day, left) for left in wanting]
    facts += _grouped(day, [left for left in plan.unfed if left not in wanting])
    if plan.nothing_due:
        rest = "\n".join(f"{fact.label}: {fact.text}" for fact in _grouped(day, plan.nothing_due))
        facts.append(Fact("Need nothing", f"{plural(len(plan.nothing_due), 'yard')}. {rest}"))
    title = f"{not_fed(plan)}, by any truck" if plan.unfed else "No yard is left that is due today"
    return Block(kind="unserved", mark="!", title=title, facts=tuple(facts), flows=True)


def _short_fact(day: SheetDay, left: Unserved) -> Fact:
    """A yard that wanted syrup and gets none, or a part."""
    starving = "STARVING. " if left.starving else ""
    part = "Fed in part. " if in_part(day.plan, left) else ""
    wants = ""
    if left.volume_l > 0:
        amount, colonies = day.units.volume(left.volume_l), plural(left.colonies, "colony", "colonies")
        wants = f" Still wants {amount} for {colonies}."
    days = f" {days_text(left.days_of_stores)} days of stores."
    text = f"{starving}{part}{sentence(left.reason)}{wants}{days} What would help: {sentence(left.remedy)}"
    return Fact(one_line(yard_name(day.operation, left.yard_id)), clean(text), strong=left.starving)


def _grouped(day: SheetDay, rest: Iterable[Unserved]) -> list[Fact]:
    """Those with the same reason in one line."""
    return [
        Fact(
            ", ".join(one_line(name) for name in names),
            clean(f"{sentence(reason)} What would help: {sentence(remedy)}"),
        )
        for names, reason, remedy in by_reason(day.operation, rest)
    ]


def annex_block(day: SheetDay) -> Block | None:
    """The texts that did not fit their box, in full."""
    if not day.annex.facts:
        return None
    return Block(
        kind="annex", mark="…", title="Long notes in full", facts=tuple(day.annex.facts), flows=True
    )  # fmt: skip


def totals_block(day: SheetDay) -> Block:
    """Totals of the route and the cautions that go with it."""
    return Block(
        kind="totals",
        mark="Σ",
        title=f"Totals and cautions, truck {one_line(day.route.truck_id)}",
        facts=(*_totals(day), *_cautions(day)),
        blanks=(Blank("Driver", 0.6), Blank("Back at", 0.4)),
        flows=True,
    )


def warnings_block(day: SheetDay) -> Block:
    """The cautions of a plan in which no truck goes out."""
    facts = _warned(day) or [Fact("Plan", "no caution")]
    return Block(
        kind="totals", mark="Σ", title="No truck goes out on this plan", facts=tuple(facts), flows=True
    )


def _totals(day: SheetDay) -> list[Fact]:
    totals, units = day.route.totals, day.units
    work = f"{duration(totals.work_s)}, {day.clock(day.route.start)} to {day.clock(day.route.end)}"
    parts = [f"driving {duration(totals.drive_s)}", f"breaks {duration(totals.break_s)}"]
    if totals.wait_s:
        parts.append(f"waiting {duration(totals.wait_s)}")
    parts.append(f"overtime {duration(totals.overtime_s)}" if totals.overtime_s else "no overtime")
    fed = f"{plural(totals.served_yards, 'yard')}, {plural(totals.served_colonies, 'colony', 'colonies')}"
    fuel = units.fuel(totals.fuel_l, day.route.stops)
    return [
        Fact("Fed", f"{fed}, {units.volume(totals.volume_l)} of syrup", strong=True),
        Fact("Hours", f"{work} ({', '.join(parts)})"),
        Fact("Road", f"{units.distance(totals.distance_m)}, about {fuel}"),
        Fact("Travel times", one_line(day.plan.travel) or "as estimated by the plan"),
    ]


def _cautions(day: SheetDay) -> list[Fact]:
    """Warnings of the plan for this truck, then the standing cautions of the trade."""
    return [*_warned(day), _weight(day), _hours(day), _stings(day), _disease(day), _heat(day), _lifting()]


def _warned(day: SheetDay) -> list[Fact]:
    """Warnings of the plan for this truck and its depots. Those about a yard stand at its stop."""
    depots = {stop.place_id for stop in day.route.stops if stop.kind != "yard"}
    everywhere = {stop.place_id for route in day.plan.routes for stop in route.stops}
    read = first_page(day.plan)
    warned = dict.fromkeys(
        clean(_placed(day, w))
        for w in day.plan.warnings
        if w.truck_id is None
        and w not in read
        and (w.place_id is None or w.place_id in depots or w.place_id not in everywhere)
    )
    return [Fact("CAUTION", text, strong=True) for text in warned]


def _placed(day: SheetDay, warning: Warning_) -> str:
    """The caution with its place before it, unless it names the place itself."""
    place_id = warning.place_id
    if place_id is None:
        return warning.text
    known = place_id in day.operation.yards
    if not known and place_id not in day.operation.depots:
        # A yard that is done is no part of the rest of the day any more; the caution names it.
        return warning.text
    name = yard_name(day.operation, place_id) if known else depot_name(day.operation, place_id)
    return warning.text if warning.text.startswith(name) else f"{one_line(name)}: {warning.text}"


def _weight(day: SheetDay) -> Fact:
    limit = f"over {day.units.mass(day.truck.gvwr_kg)}" if day.truck else "over the legal limit"
    return Fact(
        "Weight",
        f"Never drive {limit}, nor over a posted bridge, track or axle limit. The weights here are "
        "worked out from tare and syrup density; the scale decides. "
        "A part-full tank surges: slow before every bend.",
    )


def _hours(day: SheetDay) -> Fact:
    shift = day.operation.shift
    pause = ""
    if shift.break_s:
        after = "driving" if shift.break_clock == "driving" else "work"
        latest = f"at the latest after {duration(shift.break_after_s)} of {after}"
        pause = f"{duration(shift.break_s)} of break {latest}. "
    return Fact(
        "Hours",
        f"{pause}This sheet is no legal record of hours: the hours-of-service rules of your state or country "
        "decide. Too tired to drive means stop.",
    )


def _stings(day: SheetDay) -> Fact:
    call = one_line(day.operation.work.emergency_number) or "your local emergency number"
    return Fact(
        "Stings",
        f"Hard breathing, swelling of face or throat, faintness, vomiting: call {call} at once, also when an "
        "auto-injector was used. Nobody with a sting allergy works alone.",
    )


def _disease(day: SheetDay) -> Fact:
    flagged = any(
        (yard := day.operation.yards.get(stop.place_id)) is not None and yard.health is not Health.CLEAN
        for stop in day.route.stops
        if stop.kind == "yard"
    )
    order = "Keep the order of this sheet: flagged yards come last. " if flagged else ""
    return Fact(
        "Disease",
        f"{order}Sick brood: close the hive, move nothing, note it, tell the apiary inspector as your law "
        "asks. Spilled syrup starts robbing and spreads disease. Medicines: only as your vet prescribes.",
    )


def _heat(day: SheetDay) -> Fact:
    burn = day.units.temperature(60.0)
    return Fact(
        "Hot syrup",
        f"Syrup at {burn} burns skin in about five seconds and sticks. Gloves and eye cover at hoses; cool a "
        "burn with water and get help.",
    )


def _lifting() -> Fact:
    return Fact(
        "Lifting", f"{LIFTED}: two people or a lift. These cautions do not replace local rules or training."
    )
