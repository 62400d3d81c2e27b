"""Make the smaller operation that a day in progress leaves: trucks where they are, with what they carry.

Re-planning is planning again; nothing but this module knows that the day has begun.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from routing.domain.clock import DayClock, TimeWindow
from routing.domain.day import DayNow, TruckNow, YardNow
from routing.domain.day_facts import SkipReason
from routing.domain.fleet import PailLoad, Tank, Truck, Underway
from routing.domain.operation import Operation, place_key
from routing.domain.places import ColonyGroup, Depot, Yard
from routing.domain.ration import Dose, ReasonCode, YardNeed
from routing.domain.travel import Matrix, Travel
from routing.domain.units import DAY_S
from routing.need.ration import need_of_day

# A crew turned away for want of time or syrup may come back today; for these reasons only word from the
# yard (when the gate opens) brings it back.
MAY_RETRY = frozenset({SkipReason.NO_TIME, SkipReason.NO_SYRUP})


@dataclass(frozen=True)
class RestOfDay:
    """What is left to plan: an operation, its travel table, and what its yards need."""

    operation: Operation
    travel: Travel
    needs: tuple[YardNeed, ...]


def rest_of_day(operation: Operation, travel: Travel, now: DayNow) -> RestOfDay:
    """The rest of a day as an operation of its own. Yards that are done are no longer part of it."""
    clock = operation.clock(now.day)
    yards = {
        yard_id: _yard(yard, now.yards.get(yard_id), clock)
        for yard_id, yard in operation.yards.items()
        if not _done(now.yards.get(yard_id))
    }
    depots = {d.depot_id: _depot(d, now, clock) for d in operation.depots.values()}
    trucks: dict[str, Truck] = {}
    standing: dict[str, str] = {}
    for truck in operation.trucks.values():
        moved = _truck(operation, travel, truck, now, clock)
        if moved is None:
            continue
        trucks[truck.truck_id] = moved
        if moved.start_depot not in depots:
            here = _where(now.trucks[truck.truck_id])
            standing[moved.start_depot] = here
            depots[moved.start_depot] = _here(operation, moved.start_depot, here)
    groups = tuple(_group(g, now.yards.get(g.yard_id)) for g in operation.groups if g.yard_id in yards)
    smaller = replace(operation, yards=yards, groups=groups, depots=depots, trucks=trucks)
    needs = tuple(_need(need, now, smaller) for need in need_of_day(smaller, now.day))
    return RestOfDay(smaller, _stand_in(travel, standing), needs)


def _done(yard: YardNow | None) -> bool:
    return yard is not None and yard.status == "done"


def _yard(yard: Yard, known: YardNow | None, clock: DayClock) -> Yard:
    """A yard that was found closed is open only from the time that was told."""
    if known is None or not known.closed or known.closed_until is None:
        return yard
    opens = clock.seconds(known.closed_until)
    windows = yard.windows or (TimeWindow(0, DAY_S),)
    left = tuple(TimeWindow(max(w.start_s, opens), w.end_s) for w in windows if w.end_s > opens)
    return replace(yard, windows=left) if left and opens < DAY_S else yard


def _depot(depot: Depot, now: DayNow, clock: DayClock) -> Depot:
    """A depot with what it still holds; one that is closed gives nothing (before the time told)."""
    known = now.depots.get(depot.depot_id)
    if known is None:
        return depot
    stock = tuple(
        replace(row, on_hand_l=known.stock_l.get(row.syrup_id, row.on_hand_l)) for row in depot.stock
    )
    if known.closed:
        if known.closed_until is None:
            return replace(depot, stock=(), wash_down=False)
        opens = clock.seconds(known.closed_until)
        stock = tuple(replace(row, from_s=max(row.from_s, opens)) for row in stock)
    return replace(depot, stock=stock)


def _group(group: ColonyGroup, known: YardNow | None) -> ColonyGroup:
    """A group with the colonies that still wait, where some were fed."""
    if known is None or known.status != "part":
        return group
    left = next((row.left_colonies for row in known.groups if row.group == group.group), group.colonies)
    return replace(group, colonies=left)


def _where(state: TruckNow) -> str:
    """The place that a truck starts from: where it goes when it is on its way, else where it stands."""
    here = state.heading if state.underway and state.heading else state.place
    return here or ""


def _truck(operation: Operation, travel: Travel, truck: Truck, now: DayNow, clock: DayClock) -> Truck | None:
    """The truck as it is now; None when it takes no more part in the day."""
    state = now.trucks.get(truck.truck_id)
    if state is None or not truck.available_on(now.day):
        return None
    at_s = clock.seconds(now.now)
    tanks = tuple(_tank(tank, state) for tank in truck.tanks)
    if state.status == "not_started":
        shift = operation.shift_of(truck)
        first_s = max(shift.start_s, at_s)
        if first_s >= min(shift.end_s, DAY_S):
            return None
        return replace(truck, tanks=tanks, shift=TimeWindow(first_s, shift.end_s))
    if state.status != "working" or state.place is None:
        return None
    here = _where(state)
    kind, _, place_id = here.partition(":")
    free_s, drive_s = at_s, 0
    if state.underway and state.heading and state.place_at is not None:
        drive_s = travel.leg(truck.truck_id, state.place, here).drive_s
        free_s = max(at_s, clock.seconds(state.place_at) + drive_s)
    ahead_s = free_s - at_s
    underway = Underway(
        from_s=free_s,
        worked_s=state.worked_s + ahead_s,
        driven_s=state.driven_s + drive_s,
        since_break_s=state.since_break_s + ahead_s,
        driven_since_break_s=state.driving_since_pause_s + drive_s,
        rank=state.hygiene_rank,
        pails=tuple(PailLoad(s, p.count, p.volume_l) for s, p in state.pails.items() if p.count),
        pails_empty=state.pails_empty,
    )
    start = place_id if kind == "depot" else f"here-{truck.truck_id}"
    return replace(truck, tanks=tanks, start_depot=start, underway=underway)


def _tank(tank: Tank, state: TruckNow) -> Tank:
    held = state.tanks.get(tank.tank_id)
    if held is None:
        return tank
    level = min(max(0.0, held.volume_l), tank.capacity_l)
    return replace(tank, level_l=level, syrup_id=(held.syrup_id if level else None) or tank.syrup_id)


def _here(operation: Operation, depot_id: str, here: str) -> Depot:
    """A stand-in depot where a truck is, with nothing in store."""
    yard = operation.yards[here.partition(":")[2]]
    return Depot(depot_id, f"where it is now: {yard.name}", yard.position, setup_s=0)


def _stand_in(travel: Travel, standing: dict[str, str]) -> Travel:
    """The travel table with a row more for each truck that stands in a yard."""
    if not standing:
        return travel
    rows = np.array([*range(len(travel.places)), *(travel.index(key) for key in standing.values())])
    square = np.ix_(rows, rows)

    def wider(matrix: Matrix) -> Matrix:
        distance, drive = matrix.distance_m[square].copy(), matrix.drive_s[square].copy()
        same = rows[:, None] == rows[None, :]
        distance[same], drive[same] = 0, 0
        return Matrix(distance, drive)

    return replace(
        travel,
        places=(*travel.places, *(place_key("depot", depot_id) for depot_id in standing)),
        positions=tuple(travel.positions[row] for row in rows),
        matrix=wider(travel.matrix),
        by_truck={truck_id: wider(matrix) for truck_id, matrix in travel.by_truck.items()},
    )


def _need(need: YardNeed, now: DayNow, operation: Operation) -> YardNeed:
    """A yard's need in the light of what the day brought: skipped, closed, urgent."""
    known = now.yards.get(need.yard_id)
    if known is None:
        return need
    if known.urgent:
        doses = need.doses or _urgent_doses(need, known, operation)
        return replace(need, doses=doses, urgent=True) if doses else need
    if not need.doses:
        return need
    if known.closed and known.closed_until is None:
        return _not_today(need, "the yard is closed today")
    skipped = known.skipped
    if skipped is not None and not known.closed and skipped.reason not in MAY_RETRY:
        words = skipped.reason.value.replace("_", " ") + (f" ({skipped.words})" if skipped.words else "")
        when = skipped.at.strftime("%H:%M")
        return _not_today(need, f"skipped at {when}: {words}")
    return need


def _not_today(need: YardNeed, reason: str) -> YardNeed:
    remedy = "note when it can be entered again, or feed it on another day"
    return replace(need, doses=(), reason_code=ReasonCode.SKIPPED, reason=reason, remedy=remedy)


def _urgent_doses(need: YardNeed, known: YardNow, operation: Operation) -> tuple[Dose, ...]:
    """Doses for a yard that was called in although its inspection asked for none."""
    if need.reason_code not in (ReasonCode.STORES_ENOUGH, ReasonCode.FEEDER_FULL, ReasonCode.SKIPPED):
        return ()
    doses: list[Dose] = []
    for group in operation.groups_of(need.yard_id):
        feeder = operation.feeders[group.feeder_id]
        tilt = 0.0 if operation.yards[need.yard_id].level else feeder.tilt_derate
        room = feeder.capacity_l * (1.0 - tilt) - group.feed_left_l
        each = min(room, known.urgent_each_l or room)
        colonies = min(group.colonies, known.urgent_colonies or group.colonies)
        if each > 0 and colonies:
            doses.append(
                Dose(
                    group.group,
                    group.feeder_id,
                    group.syrup_id,
                    colonies,
                    each,
                    feeder.service_s,
                    feeder.swapped,
                )
            )
    return tuple(doses)
