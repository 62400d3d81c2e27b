"""Take the measurements that one day's events and plan give."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan
from routing.log.events import Event
from routing.log.facts import Arrived, Fed, Gauged, Planned, Rested, Washed
from routing.log.fold.books import Books

SHORT_LEG_S = 180
"""Legs planned shorter than this tell more of minutes noted whole than of the road (a choice)."""


@dataclass(frozen=True)
class TankLoss:
    """One tank (``tank_id`` empty: the meter of the truck) on one day.

    ``lost_l``: by the book more than the gauge showed, or by the meter more than was noted.
    """

    day: date
    truck_id: str
    tank_id: str
    poured_l: float
    lost_l: float
    gauged: bool


@dataclass
class Samples:
    """Measurements of many days, each list in the order of time."""

    pour_shares: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    day_shares: list[float] = field(default_factory=list)
    handling_s: dict[tuple[str, int], list[float]] = field(default_factory=lambda: defaultdict(list))
    handling_by_truck_s: dict[str, dict[str, list[float]]] = field(default_factory=dict)
    road_shares: list[float] = field(default_factory=list)
    speeds_km_per_h: list[float] = field(default_factory=list)
    wash_s: list[float] = field(default_factory=list)
    tanks: list[TankLoss] = field(default_factory=list)


def samples_of(
    operation: Operation, fold: Books, events: Sequence[Event], plans: Mapping[str, Plan], into: Samples
) -> None:
    """Add the measurements of one day: its books after all its events, which are in force and in order."""
    named = [plans[e.fact.plan_id] for e in events if isinstance(e.fact, Planned) and e.fact.plan_id in plans]
    _pours(events, _planned_each_l(named), into)
    _stays(operation, events, into)
    _roads(operation, fold, named, into)
    _tanks(fold, events, into)


def _planned_each_l(plans: Iterable[Plan]) -> dict[tuple[str, str], float]:
    """Litres a colony by yard and group, as the newest plan that feeds them gives it."""
    each: dict[tuple[str, str], float] = {}
    for plan in plans:
        sums: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
        for route in plan.routes:
            for stop in route.stops:
                for pour in stop.pour:
                    sums[stop.place_id, pour.group][0] += pour.volume_l
                    sums[stop.place_id, pour.group][1] += pour.colonies
        each |= {key: litres / colonies for key, (litres, colonies) in sums.items() if colonies and litres}
    return each


def _pours(events: Sequence[Event], each_l: Mapping[tuple[str, str], float], into: Samples) -> None:
    totals: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for event in events:
        if not isinstance(event.fact, Fed) or event.fact.as_planned:
            continue
        sums: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
        for row in event.fact.pours:
            sums[row.group, row.feeder_id][0] += row.volume_l
            sums[row.group, row.feeder_id][1] += row.colonies
        for (group, feeder_id), (poured_l, colonies) in sums.items():
            planned_l = each_l.get((event.fact.yard_id, group), 0.0) * colonies
            if planned_l > 0:
                into.pour_shares[feeder_id].append(poured_l / planned_l)
                totals[event.truck_id][0] += poured_l
                totals[event.truck_id][1] += planned_l
    into.day_shares += [poured_l / planned_l for _, (poured_l, planned_l) in sorted(totals.items())]


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
    into.handling_s[feeder_id, truck.crew].append(each_s)
    into.handling_by_truck_s.setdefault(feeder_id, {}).setdefault(truck.truck_id, []).append(each_s)


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
            into.road_shares.append(drive.drive_s / planned_s)
            # Last miles are typed, not worked out from the speed.
            off_road_s = last_mile_s.get(drive.origin, 0) + last_mile_s.get(drive.destination, 0)
            road_s, driven_s = planned_s - off_road_s, drive.drive_s - off_road_s
            if road_s > 0 and driven_s > 0:
                into.speeds_km_per_h.append(speed * road_s / driven_s)


def _tanks(fold: Books, events: Sequence[Event], into: Samples) -> None:
    poured: dict[tuple[str, str], float] = defaultdict(float)
    metered: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    gauged: dict[tuple[str, str], float] = defaultdict(float)
    for event in events:
        if isinstance(event.fact, Fed):
            pumped_l = 0.0
            for row in event.fact.pours:
                if row.tank_id is not None:
                    poured[event.truck_id, row.tank_id] += row.volume_l
                    pumped_l += row.volume_l
            if event.fact.meter is not None:
                metered[event.truck_id][0] += event.fact.meter.volume_l
                metered[event.truck_id][1] += pumped_l
        elif isinstance(event.fact, Gauged):
            gauged[event.truck_id, event.fact.tank_id] += 0.0
    for gap in fold.gaps:
        if gap.code == "gauge_gap":
            gauged[gap.truck_id, gap.item] -= gap.amount
    day = events[0].day
    for (truck_id, tank_id), lost_l in sorted(gauged.items()):
        into.tanks.append(
            TankLoss(day, truck_id, tank_id, round(poured[truck_id, tank_id], 3), round(lost_l, 3), True)
        )
    for truck_id, (through_l, noted_l) in sorted(metered.items()):
        into.tanks.append(
            TankLoss(day, truck_id, "", round(noted_l, 3), round(through_l - noted_l, 3), False)
        )
