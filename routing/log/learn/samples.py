"""Take the measurements that one day's events and plan give."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from math import nan
from typing import NamedTuple

from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan
from routing.log.events import Event
from routing.log.facts import Arrived, Fed, Gauged, Planned, Rested, Washed
from routing.log.fold.books import Books

SHORT_LEG_S = 180
"""Legs planned shorter than this tell more of minutes noted whole than of the road (a choice)."""


class PlannedPour(NamedTuple):
    """What a plan gives to a group at one stop; ``plan`` counts the plans of a day."""

    day: date
    plan: int
    yard_id: str
    group: str
    colonies: int
    volume_l: float


class RealPour(NamedTuple):
    """What a note says that a group got; ``measured``: not just "as planned". ``tank_id`` "": pails."""

    day: date
    event_id: str
    truck_id: str
    yard_id: str
    group: str
    feeder_id: str
    tank_id: str
    colonies: int
    volume_l: float
    measured: bool


class Handling(NamedTuple):
    """Seconds a colony at one visit where all feeders are of one kind."""

    feeder_id: str
    truck_id: str
    crew: int
    each_s: float


class Driven(NamedTuple):
    """One leg with a noted arrival: its time as a share of the plan's, and the speed to have planned with.

    ``speed_km_per_h`` is NaN where nothing of the leg is road.
    """

    share: float
    speed_km_per_h: float


class Gauge(NamedTuple):
    """One tank that was gauged, and by how much the book held more than a gauge showed."""

    day: date
    truck_id: str
    tank_id: str
    lost_l: float


class Metered(NamedTuple):
    """One visit with a meter: what went through it, and what was noted as pumped."""

    day: date
    truck_id: str
    through_l: float
    noted_l: float


@dataclass
class Samples:
    """Measurements of many days, each a list of rows in the order of time."""

    planned: list[PlannedPour] = field(default_factory=list)
    poured: list[RealPour] = field(default_factory=list)
    handlings: list[Handling] = field(default_factory=list)
    drives: list[Driven] = field(default_factory=list)
    wash_s: list[float] = field(default_factory=list)
    gauges: list[Gauge] = field(default_factory=list)
    meters: list[Metered] = field(default_factory=list)


def samples_of(
    operation: Operation, fold: Books, events: Sequence[Event], plans: Mapping[str, Plan], into: Samples
) -> None:
    """Add the measurements of one day: its books after all its events, which are in force and in order."""
    day = events[0].day
    named = [plans[e.fact.plan_id] for e in events if isinstance(e.fact, Planned) and e.fact.plan_id in plans]
    for number, plan in enumerate(named):
        into.planned += [
            PlannedPour(day, number, stop.place_id, pour.group, pour.colonies, pour.volume_l)
            for route in plan.routes
            for stop in route.stops
            for pour in stop.pour
        ]
    for event in events:
        if isinstance(event.fact, Fed):
            _poured(event, event.fact, into)
    _stays(operation, events, into)
    _roads(operation, fold, named, into)
    _tanks(fold, events, into)


def _poured(event: Event, fact: Fed, into: Samples) -> None:
    into.poured += [
        RealPour(
            event.day, event.event_id, event.truck_id, fact.yard_id, row.group, row.feeder_id,
            row.tank_id or "", row.colonies, row.volume_l, not fact.as_planned,
        )
        for row in fact.pours
    ]  # fmt: skip
    if fact.meter is not None:
        pumped_l = sum(row.volume_l for row in fact.pours if row.tank_id is not None)
        into.meters.append(Metered(event.day, event.truck_id, fact.meter.volume_l, pumped_l))


def _stays(operation: Operation, events: Sequence[Event], into: Samples) -> None:
    """Time at hives and wash-downs, where the arrival was noted and nothing but breaks came between."""
    here: dict[str, tuple[str, datetime, int]] = {}
    for event in events:
        fact, truck_id = event.fact, event.truck_id
        if isinstance(fact, Arrived):
            here[truck_id] = (fact.place, event.at, 0)
        elif isinstance(fact, Rested) and truck_id in here:
            place, since, rested_s = here[truck_id]
            here[truck_id] = (place, since, rested_s + fact.seconds)
        elif isinstance(fact, Fed) and here.get(truck_id, ("",))[0] == place_key("yard", fact.yard_id):
            _, since, rested_s = here.pop(truck_id)
            _handling(operation, event, fact, since, rested_s, into)
        elif isinstance(fact, Washed) and here.get(truck_id, ("",))[0] == place_key("depot", fact.depot_id):
            _, since, rested_s = here.pop(truck_id)
            into.wash_s.append((event.at - since).total_seconds() - rested_s)
        elif not isinstance(fact, Gauged):
            here.pop(truck_id, None)


def _handling(
    operation: Operation, event: Event, fact: Fed, since: datetime, rested_s: int, into: Samples
) -> None:
    feeders = {row.feeder_id for row in fact.pours}
    colonies = sum(row.colonies for row in fact.pours)
    yard, truck = operation.yards.get(fact.yard_id), operation.trucks.get(event.truck_id)
    if len(feeders) != 1 or not colonies or yard is None or truck is None:
        return
    clock = operation.clock(event.day)
    begin, end = clock.seconds(since), clock.seconds(event.at)
    # Time spent before the gate opened is no work.
    opened = [start for start, close in clock.openings(yard.windows, begin, end) if close > begin]
    begin = max(begin, opened[0]) if opened else begin
    seconds = end - begin - rested_s - yard.setup_s
    # Minutes per colony are person-minutes: what one worker would take.
    feeder_id, each_s = feeders.pop(), max(0.0, seconds / colonies) * operation.work.hands(truck.crew)
    into.handlings.append(Handling(feeder_id, truck.truck_id, truck.crew, each_s))


def _roads(operation: Operation, fold: Books, plans: Sequence[Plan], into: Samples) -> None:
    last_mile_s = {place_key("yard", y.yard_id): y.last_mile_s for y in operation.yards.values()}
    typed = [
        p.assumptions["travel.speed_km_per_h"].value
        for p in plans
        if "travel.speed_km_per_h" in p.assumptions
    ]
    speed = float(typed[-1]) if typed else operation.travel.speed_km_per_h
    for truck_id in sorted(fold.trucks):
        truck = fold.trucks[truck_id]
        for drive in truck.drives:
            planned_s = truck.legs.get((drive.origin, drive.destination), 0)
            if not drive.reported or planned_s < SHORT_LEG_S or drive.drive_s <= 0:
                continue
            # Last miles are typed, not worked out from the speed.
            off_road_s = last_mile_s.get(drive.origin, 0) + last_mile_s.get(drive.destination, 0)
            road_s, driven_s = planned_s - off_road_s, drive.drive_s - off_road_s
            should = speed * road_s / driven_s if road_s > 0 and driven_s > 0 else nan
            into.drives.append(Driven(drive.drive_s / planned_s, should))


def _tanks(fold: Books, events: Sequence[Event], into: Samples) -> None:
    day = events[0].day
    into.gauges += [
        Gauge(day, event.truck_id, event.fact.tank_id, 0.0)
        for event in events
        if isinstance(event.fact, Gauged)
    ]
    into.gauges += [
        Gauge(day, gap.truck_id, gap.item, -gap.amount) for gap in fold.gaps if gap.code == "gauge_gap"
    ]
