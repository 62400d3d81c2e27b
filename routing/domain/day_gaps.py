"""Tell where reality has left the plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from routing.domain.day import LATE_S, POUR_SLACK, Gap, TruckNow, YardNow
from routing.domain.day_cargo import Say
from routing.domain.day_facts import Fed
from routing.domain.day_track import Track
from routing.domain.day_yards import YardBook
from routing.domain.operation import place_key
from routing.domain.plan import Route

METER_SLACK_L = 0.5
"""A meter within half a litre of the pours agrees with them (a choice)."""


def pour_gaps(say: Say, book: YardBook, truck_id: str, fact: Fed, place: str, planned: bool) -> None:
    """Book a visit in the yard's book, and tell how its pours differ from the plan."""
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
    if fact.meter is not None:
        pumped_l = sum(row.volume_l for row in fact.pours if row.tank_id is not None)
        if abs(fact.meter.volume_l - pumped_l) > METER_SLACK_L:
            say("meter_gap", place, amount=fact.meter.volume_l - pumped_l)


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
