"""The box of one yard visit on a run sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from routing.domain.places import Health, Yard
from routing.domain.plan import Pour, Stop
from routing.domain.supplies import FeederPosition
from routing.reports.sheet.annex import NAME_COST
from routing.reports.sheet.day import SheetDay, where
from routing.reports.sheet.model import Blank, Block, Table
from routing.reports.words.changes import NEW
from routing.reports.words.format import number, plural
from routing.reports.words.names import (
    HEALTH_WORDS,
    SKIP_REASONS,
    days_text,
    joined,
    place_name,
    urgent_text,
    yard_name,
)
from routing.reports.words.route_day import Fact
from routing.reports.words.stop_facts import URGENT_COST, cautions_text, yard_facts
from routing.reports.words.supply_names import feeder_name, syrup_name
from routing.reports.words.text import cost, cut, one_line

MOST_ROWS = 5
CELL_COST = 60
CELL_COSTS = (CELL_COST, 16, 16, 16, 30)
BY_HAND = ("Poured", "Dead", "Light")
"""Columns left open: what is written in at the yard, for each group."""
SAID_COST = 46
ROW_COST = 130


def yard_block(day: SheetDay, stop: Stop) -> Block:
    """All a driver needs at one yard, and the blanks to fill in there."""
    mark = day.marks[stop.seq]
    yard = day.operation.yards.get(stop.place_id)
    name = day.annex.fit(f"stop {mark}, name", yard_name(day.operation, stop.place_id), NAME_COST)
    subtitle, flag, table = _subtitle(day, stop, yard), _flag(day, stop, yard), feed_table(day, stop)
    used = cost(name) + cost(subtitle) + cost(flag) + ROW_COST * len(table.rows)
    return Block(
        kind="yard",
        mark=mark,
        title=name,
        subtitle=subtitle,
        badge=NEW if stop.seq in day.new else "",
        times=_times(day, stop),
        flag=flag,
        facts=_two_bold(
            (*day.drive_fact(stop, stay=True), *day.annex.fit_facts(mark, _facts(day, stop), used))
        ),
        where=where(stop.lat, stop.lon),
        table=table,
        blanks=_blanks(stop),
        skip=SKIP_REASONS,
        emergency=emergency_text(day, stop),
    )


def _two_bold(facts: tuple[Fact, ...]) -> tuple[Fact, ...]:
    """Where all is bold nothing is: hazards and limits first, then gate and hours, two at most."""
    rank = {label: i for i, label in enumerate(("HAZARDS", "Limits", "Feed only", "Gate", "CAUTION"))}
    strong = sorted((f for f in facts if f.strong), key=lambda f: rank.get(f.label, len(rank)))[:2]
    return tuple(replace(fact, strong=fact in strong) for fact in facts)


def _subtitle(day: SheetDay, stop: Stop, yard: Yard | None) -> str:
    """Ids, and which of several visits this is."""
    parts = [f"yard id {cut(one_line(stop.place_id), CELL_COST)}"]
    registration = one_line(yard.registration_id) if yard else ""
    parts.append(f"registration {cut(registration, CELL_COST)}" if registration else "")
    need = day.needs.get(stop.place_id)
    if need is not None:
        parts.append(f"{days_text(need.days_of_stores)} days of stores")
    all_visits = day.visits.get(stop.place_id, ())
    if len(all_visits) > 1:
        here = (day.route.truck_id, day.marks[stop.seq])
        others = [
            f"truck {truck_id} stop {mark}" if truck_id != here[0] else f"stop {mark}"
            for truck_id, mark in all_visits
            if (truck_id, mark) != here
        ]
        turn = all_visits.index(here) + 1
        also = cut(one_line(", ".join(others)), CELL_COST)
        parts.append(f"PART VISIT {turn} of {len(all_visits)}, also {also}")
    return joined(parts)


def _flag(day: SheetDay, stop: Stop, yard: Yard | None) -> str:
    """What must be seen before anything else: starving bees, disease."""
    need = day.needs.get(stop.place_id)
    starving = stop.starving or (need is not None and need.starving)
    health = HEALTH_WORDS[yard.health] if yard and yard.health is not Health.CLEAN else ""
    urgent = cut(one_line(urgent_text(day.plan, stop.place_id)), URGENT_COST)
    return joined((urgent, "STARVING: do not skip this yard." if starving else "", health), "\n")


def _times(day: SheetDay, stop: Stop) -> tuple[Fact, ...]:
    """Arrive, begin (when there is a wait), and the latest arrival that keeps all hours."""
    before = next((s for s in day.route.stops if s.seq == stop.seq - 1), None)
    # A crew that rested at the yard is there already.
    rested = before is not None and before.kind == "break" and not (stop.leg.distance_m or stop.leg.drive_s)
    times = [Fact("GO ON AT" if rested else "ARRIVE", day.clock(stop.arrive), strong=True)]
    if (stop.begin - stop.arrive).total_seconds() >= 60:
        times.append(Fact("BEGIN AT", day.clock(stop.begin), strong=True))
    if stop.latest_arrive is not None:
        times.append(Fact("LATEST", day.clock(stop.latest_arrive)))
    return tuple(times)


def _facts(day: SheetDay, stop: Stop) -> Iterable[Fact]:
    yield from yard_facts(day, stop)
    if cautions := cautions_text(day, stop):
        yield Fact("CAUTION", cautions, strong=True)


def feed_table(day: SheetDay, stop: Stop) -> Table:
    """What each group gets: colonies, amount each, total, and from where."""
    rows = [_feed_row(day, pour) for pour in stop.pour]
    if len(rows) > MOST_ROWS:
        text = "\n".join(" | ".join(row) for row in rows)
        kept = day.annex.keep(f"stop {day.marks[stop.seq]}, feed list", text)
        more = len(rows) - MOST_ROWS + 1
        rest = stop.pour[MOST_ROWS - 1 :]
        volume = day.units.volume(sum(pour.volume_l for pour in rest))
        colonies = f"{sum(pour.colonies for pour in rest)}"
        rows = [
            *rows[: MOST_ROWS - 1],
            (f"and {more} more groups: see note {kept} near the end", colonies, "", volume, ""),
        ]
    colonies = number(sum(pour.colonies for pour in stop.pour))
    total = ("TOTAL", colonies, "", day.units.volume(sum(pour.volume_l for pour in stop.pour)), "")
    alone = len(rows) == 1
    return Table(
        ("Group and feeder", "Col.", "Each", "Total", "Syrup, from", *BY_HAND),
        tuple((*row, *("" for _ in BY_HAND)) for row in rows),
        right=(1, 2, 3),
        total=() if alone else (*total, *("" for _ in BY_HAND)),
        strong=(2, 3) if alone else (2,),
        shares=(0.25, 0.06, 0.11, 0.12, 0.23, 0.1, 0.065, 0.065),
    )


def _feed_row(day: SheetDay, pour: Pour) -> tuple[str, ...]:
    feeder = day.operation.feeders.get(pour.feeder_id)
    each = day.units.volume_each(pour.volume_l / pour.colonies, pour.colonies) if pour.colonies else ""
    if feeder is not None and feeder.position is FeederPosition.COMMUNAL:
        each = "all in tub"
    source = f"tank {pour.tank_id}" if pour.tank_id is not None else plural(pour.pails, "full pail")
    cells = (
        joined((pour.group, feeder_name(day.operation, pour.feeder_id)), ": "),
        number(pour.colonies),
        each,
        day.units.volume(pour.volume_l),
        f"{syrup_name(day.operation, pour.syrup_id)}, {source}",
    )
    return tuple(cut(one_line(cell), room) for cell, room in zip(cells, CELL_COSTS, strict=True))


def _blanks(stop: Stop) -> tuple[Blank, ...]:
    """What is written by hand of the whole yard; what was poured stands in the table, group by group."""
    swapped = any(pour.pails for pour in stop.pour)
    blanks = [Blank("Arrived", 0.2), Blank("Left", 0.17)]
    blanks += [Blank("Empties back", 0.24)] if swapped else []
    return (*blanks, Blank("Next visit", 0.23), Blank("Notes", 0.16 if swapped else 0.4))


def emergency_text(day: SheetDay, stop: Stop) -> str:
    """What to dial and what to say, in words that a dispatcher takes: the way in, then degrees."""
    call = cut(one_line(day.operation.work.emergency_number), CELL_COST) or "your local emergency number"
    yard = day.operation.yards.get(stop.place_id)
    name = cut(one_line(place_name(day.operation, stop)), CELL_COST)
    way = one_line(yard.directions if yard else "")
    north, east = ("north" if stop.lat >= 0 else "south"), ("east" if stop.lon >= 0 else "west")
    place = f"{abs(stop.lat):.6f} {north}, {abs(stop.lon):.6f} {east}"
    return (
        f"EMERGENCY: call {call}. Say: {joined((name, way if cost(way) <= SAID_COST else '', place), '; ')}"
    )
