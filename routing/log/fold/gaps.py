"""Tell where reality has left the plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from routing.domain.operation import Operation, place_key
from routing.domain.plan import Route
from routing.domain.supplies import FeederPosition
from routing.log.day import LATE_S, POUR_SLACK, Gap, TruckNow, YardNow
from routing.log.facts import Fed, Urgent
from routing.log.fold.cargo import Say
from routing.log.fold.track import Track
from routing.log.fold.yards import YardBook

METER_SLACK_L = 0.5
"""A meter within half a litre of the pours agrees with them (a choice)."""

OVER_L = 0.05
"""A call for a cup more than goes in is met (a choice: nobody reads a dose to less)."""


def pour_gaps(
    say: Say,
    book: YardBook,
    truck_id: str,
    fact: Fed,
    place: str,
    planned: bool,
    standing: Mapping[str, int],
) -> None:
    """Book a visit in the yard's book, and tell how its pours differ from the plan.

    ``standing``: the colonies of each group of the yard.
    """
    before = {name: group.fed for name, group in book.groups.items()}
    strange = planned and truck_id not in book.truck_ids
    if strange and book.truck_ids:
        say("other_truck", place)
    for row, over_l in book.feed(fact):
        due_l = row.volume_l - over_l
        if strange and not book.truck_ids:
            say("not_planned", place, row.group, row.volume_l)
        elif planned and over_l > max(POUR_SLACK * due_l, METER_SLACK_L):
            say("poured_over", place, row.group, over_l)
        elif planned and -over_l > max(POUR_SLACK * due_l, METER_SLACK_L):
            say("poured_short", place, row.group, -over_l)
    _count_gaps(say, book, fact, place, before, standing)
    if fact.meter is not None:
        pumped_l = sum(row.volume_l for row in fact.pours if row.tank_id is not None)
        if abs(fact.meter.volume_l - pumped_l) > METER_SLACK_L:
            say("meter_gap", place, amount=fact.meter.volume_l - pumped_l)


def _count_gaps(
    say: Say, book: YardBook, fact: Fed, place: str, before: Mapping[str, int], standing: Mapping[str, int]
) -> None:
    """Tell groups that were fed twice, or of which more colonies were fed than stand there."""
    for name in dict.fromkeys(row.group for row in fact.pours):
        has, poured_l = standing.get(name), sum(row.volume_l for row in fact.pours if row.group == name)
        over = book.groups[name].fed - has if has else 0
        if over <= 0:
            continue
        if has and before.get(name, 0) >= has:
            say("fed_again", place, name, poured_l)
        else:
            say("too_many", place, name, float(over))


def call_gaps(say: Say, operation: Operation, book: YardBook, call: Urgent) -> None:
    """Tell what of a call from a yard cannot be met, whoever drives there."""
    yard = operation.yards.get(call.yard_id)
    if yard is None:
        return
    place = place_key("yard", call.yard_id)
    if book.status == "done":
        say("urgent_fed", place)
        return
    groups = [g for g in operation.groups_of(call.yard_id) if g.feeder_id in operation.feeders]
    standing = sum(group.colonies for group in groups)
    called = standing if call.colonies is None else call.colonies
    if called > standing:
        say("urgent_colonies", place, amount=float(called - standing))
    # Open tubs are for nobody to fill on a call. What is still in a feeder is for the re-plan to tell.
    rooms: list[float] = []
    for group in groups:
        feeder = operation.feeders[group.feeder_id]
        if feeder.position is not FeederPosition.COMMUNAL:
            rooms += [feeder.room_l(level=yard.level)] * group.colonies
    rooms = rooms[:called]
    if call.each_l is not None:
        over_l = sum(max(0.0, call.each_l - room) for room in rooms)
    else:
        over_l = (call.total_l or 0.0) - sum(rooms)
    if over_l > OVER_L:
        say("urgent_over", place, amount=over_l)


def closing_gaps(
    trucks: Mapping[str, TruckNow],
    yards: Mapping[str, YardNow],
    tracks: Mapping[str, Track | None],
    routes: Mapping[str, Route],
) -> Iterator[Gap]:
    """What the state itself shows: lateness, yards passed by, left or part done."""
    for truck_id, truck in trucks.items():
        if truck.late_s is not None and abs(truck.late_s) >= LATE_S:
            yield Gap("late" if truck.late_s > 0 else "early", truck_id, amount=float(abs(truck.late_s)))
        found = tracks.get(truck_id)
        for stop in found.passed if found else ():
            yield Gap("passed_over", truck_id, place_key("yard", stop.place_id))
    for yard_id, yard in yards.items():
        yield from _yard_gaps(yard_id, yard)


def _yard_gaps(yard_id: str, yard: YardNow) -> Iterator[Gap]:
    place = place_key("yard", yard_id)
    if yard.skipped is not None:
        skip = yard.skipped
        yield Gap("skipped", skip.truck_id, place, skip.reason.value, float(yard.left_colonies))
    elif yard.status == "part":
        yield Gap("part_done", place=place, amount=float(yard.left_colonies))
    for group in yard.groups:
        if group.alive is not None and group.alive < group.due_colonies:
            yield Gap("dead", place=place, item=group.group, amount=float(group.due_colonies - group.alive))
