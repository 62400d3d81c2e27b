"""The boxes of a run sheet away from the yards: load-out, refill, wash-down, break, return."""

from __future__ import annotations

from routing.domain.plan import Aboard, Fill, Stop
from routing.reports.sheet.annex import NAME_COST
from routing.reports.sheet.checks import loadout_checks
from routing.reports.sheet.day import SheetDay, where
from routing.reports.sheet.model import Blank, Block, Table
from routing.reports.sheet.yard import emergency_text
from routing.reports.words.depot_calls import pumped, take_text
from routing.reports.words.format import duration, plural, windows
from routing.reports.words.names import depot_name, levels_text, pails_text, place_name, syrup_text
from routing.reports.words.route_day import Fact
from routing.reports.words.text import cut, one_line


def loadout_block(day: SheetDay, stop: Stop) -> Block:
    """The morning: what goes into which tank, what the truck then weighs, what to check."""
    what = take_text(day.operation, stop) or "nothing to load"
    facts = [*depot_facts(day, stop), *aboard_facts(day, stop)]
    facts.append(Fact("Truck weighs", _weight_text(day, stop.after), strong=True))
    facts += trip_facts(day, stop)
    return Block(
        kind="loadout",
        mark=day.marks[stop.seq],
        title=f"LOAD at {_short(depot_name(day.operation, stop.place_id))}: {what}",
        times=(
            Fact("BE THERE", day.clock(stop.arrive), strong=True),
            Fact("LEAVE", day.clock(stop.leave)),
        ),
        facts=tuple(facts),
        where=where(stop.lat, stop.lon),
        table=fill_table(day, stop),
        checks=loadout_checks(day, stop),
        blanks=(Blank("Scale or gauge reads", 0.5, day.units.mass_unit), Blank("Left at", 0.5)),
        emergency=emergency_text(day, stop),
    )


def refill_block(day: SheetDay, stop: Stop) -> Block:
    """A refill on the way: how much to take into which tank."""
    what = take_text(day.operation, stop) or "nothing to pump"
    return Block(
        kind="refill",
        mark=day.marks[stop.seq],
        title=f"REFILL at {_short(depot_name(day.operation, stop.place_id))}: {what}",
        times=_stay(day, stop),
        facts=(
            *day.drive_fact(stop),
            *depot_facts(day, stop),
            *aboard_facts(day, stop),
            Fact("Then weighs", _weight_text(day, stop.after), strong=True),
            *trip_facts(day, stop),
            *_notes(day, stop),
        ),
        where=where(stop.lat, stop.lon),
        table=fill_table(day, stop),
        checks=day.calls[stop.seq].checks,
        blanks=(
            *_taken_blanks(day, pumped(day.operation, stop)),
            Blank("Arrived", 0.25),
            Blank("Left", 0.25),
        ),
        emergency=emergency_text(day, stop),
    )


def _taken_blanks(day: SheetDay, taken: dict[str, float]) -> tuple[Blank, ...]:
    if len(taken) < 2:
        return (Blank("Taken", 0.36, day.units.volume_unit),)
    return tuple(Blank(f"Taken {name}", 0.28, day.units.volume_unit) for name in list(taken)[:4])


def wash_block(day: SheetDay, stop: Stop) -> Block:
    """A wash-down between a sick yard and a clean one."""
    return Block(
        kind="wash",
        mark=day.marks[stop.seq],
        title=f"WASH DOWN at {_short(depot_name(day.operation, stop.place_id))}",
        subtitle="truck, hose, gun, tools, gloves, boots, suits, before any clean yard",
        times=_stay(day, stop),
        facts=(*day.drive_fact(stop), *depot_facts(day, stop), *_notes(day, stop)),
        where=where(stop.lat, stop.lon),
        checks=("washed down, gloves and suits changed",),
        blanks=(Blank("Done at", 0.5), Blank("By", 0.5)),
    )


def break_block(day: SheetDay, stop: Stop) -> Block:
    """The pause the shift rules ask for."""
    length = duration((stop.leave - stop.begin).total_seconds())
    return Block(
        kind="break",
        mark=day.marks[stop.seq],
        title=f"BREAK {length}",
        subtitle=f"no work, no driving; where you are: {_short(place_name(day.operation, stop))}",
        times=(
            Fact("FROM", day.clock(stop.begin), strong=True),
            Fact("UNTIL", day.clock(stop.leave), strong=True),
        ),
        facts=_notes(day, stop),
        blanks=(Blank("Taken from", 0.5), Blank("until", 0.5)),
    )


def end_block(day: SheetDay, stop: Stop) -> Block:
    """The return: what should be left, and what to write down."""
    pails = pails_text(stop.after)
    facts = [*day.drive_fact(stop), *depot_facts(day, stop)]
    facts.append(Fact("Left in tanks", levels_text(day.operation, stop.after, stop.after) or "no tank"))
    if pails:
        facts.append(Fact("Pails aboard", pails))
    facts.append(Fact("Truck weighs", _weight_text(day, stop.after)))
    unit = day.units.volume_unit
    return Block(
        kind="end",
        mark=day.marks[stop.seq],
        title=f"Back at {_short(depot_name(day.operation, stop.place_id))}",
        times=(Fact("BACK BY", day.clock(stop.arrive), strong=True),),
        facts=(*facts, *_notes(day, stop)),
        where=where(stop.lat, stop.lon),
        blanks=(
            Blank("Syrup left", 0.36, unit),
            Blank("Fuel taken", 0.32, unit),
            Blank("Odometer", 0.32, day.units.distance_unit),
        ),
        checks=("skipped yards told to the planner", "gear washed", *_pails_counted(day, stop)),
    )


def _pails_counted(day: SheetDay, stop: Stop) -> tuple[str, ...]:
    """At home pails are counted where any come back."""
    return ("pails and lids counted",) if stop.after.pails_full or stop.after.pails_empty else ()


def fill_table(day: SheetDay, stop: Stop) -> Table | None:
    """Tank by tank: what is in, what to pump in, what it must then hold, and that weight."""
    before = day.before(stop)
    rows = [_tank_row(day, stop, before, tank_id) for tank_id in stop.after.tanks]
    for fill in stop.fill:
        if fill.tank_id is None:
            mass = mass_text(day, fill.syrup_id, fill.volume_l)
            rows.append((
                f"{fill.pails} PAILS", syrup_text(day.operation, fill.syrup_id), "",
                day.units.volume(fill.volume_l), _pail_text(day, fill), mass,
            ))  # fmt: skip
    if not rows:
        return None
    head = ("Tank", "Syrup", "In it now", "PUT IN", "Then holds", "Weight")
    return Table(
        head, tuple(rows), right=(2, 3, 4, 5), strong=(3,), shares=(0.13, 0.29, 0.14, 0.15, 0.15, 0.14)
    )


def _tank_row(day: SheetDay, stop: Stop, before: Aboard, tank_id: str) -> tuple[str, ...]:
    after = stop.after.tanks[tank_id]
    was = before.tanks.get(tank_id)
    put_l = sum(fill.volume_l for fill in stop.fill if fill.tank_id == tank_id)
    return (
        one_line(tank_id),
        syrup_text(day.operation, after.syrup_id) if after.volume_l > 0 else "leave empty",
        day.units.volume(was.volume_l) if was and was.volume_l >= 0.05 else "empty",
        day.units.volume(put_l) if put_l else "nothing",
        day.units.volume(after.volume_l) if after.volume_l >= 0.05 else "empty",
        mass_text(day, after.syrup_id, after.volume_l),
    )


def _pail_text(day: SheetDay, fill: Fill) -> str:
    """``1.98 gal each``: what every full pail holds."""
    return f"{day.units.volume_each(fill.volume_l / fill.pails)} each" if fill.pails else ""


def _short(name: str) -> str:
    """A name for a title that shares its box with other things."""
    return cut(one_line(name), NAME_COST)


def mass_text(day: SheetDay, syrup_id: str | None, volume_l: float) -> str:
    """The weight of a volume of syrup; a dash where its density is not known."""
    if volume_l <= 0:
        return day.units.mass(0.0)
    syrup = day.operation.syrups.get(syrup_id or "")
    if syrup is None or syrup.density_kg_per_l is None:
        return "-"
    return day.units.mass(volume_l * syrup.density_kg_per_l)


def _weight_text(day: SheetDay, aboard: Aboard) -> str:
    truck = day.truck
    if truck is None:
        return day.weighed(aboard.gross_kg)
    spare = day.units.mass(truck.gvwr_kg - aboard.gross_kg)
    return f"{day.weighed(aboard.gross_kg)}, {spare} to spare"


def trip_facts(day: SheetDay, stop: Stop) -> list[Fact]:
    """The tightest track or bridge of the trip that begins here: nobody loads more than the plan says."""
    call = day.calls.get(stop.seq)
    return [Fact("Track limit", call.limit.told(day.units), strong=True)] if call and call.limit else []


def aboard_facts(day: SheetDay, stop: Stop) -> list[Fact]:
    """Full pails to load, empties to take off, and empties expected back on the trip that begins here."""
    call, facts = day.calls.get(stop.seq), []
    if call is None:
        return []
    if call.pails:
        facts.append(Fact("Pails full", f"load {call.pails}; {stop.after.pails_full} aboard", strong=True))
    if call.empties_off:
        facts.append(Fact("Empties off", plural(call.empties_off, "empty pail")))
    if call.empties_back:
        back = plural(call.empties_back, "empty pail")
        facts.append(Fact("Empties back", f"{back} expected back from the yards before the next loading"))
    return facts


def depot_facts(day: SheetDay, stop: Stop) -> list[Fact]:
    """When the depot is open."""
    depot = day.operation.depots.get(stop.place_id)
    return [Fact("Open", windows(depot.windows))] if depot and depot.windows else []


def _notes(day: SheetDay, stop: Stop) -> tuple[Fact, ...]:
    depot = stop.place_id if stop.kind != "break" else None
    warned = [w.text for w in day.plan.warnings if depot and w.place_id == depot]
    notes = [Fact("CAUTION", text, strong=True) for text in dict.fromkeys((*warned, *stop.notes))]
    return day.annex.fit_facts(day.marks[stop.seq], notes)


def _stay(day: SheetDay, stop: Stop) -> tuple[Fact, ...]:
    times = [Fact("ARRIVE", day.clock(stop.arrive), strong=True)]
    if (stop.begin - stop.arrive).total_seconds() >= 60:
        times.append(Fact("BEGIN AT", day.clock(stop.begin), strong=True))
    if stop.latest_arrive is not None:
        times.append(Fact("LATEST", day.clock(stop.latest_arrive)))
    return (*times, Fact("LEAVE", day.clock(stop.leave)))
