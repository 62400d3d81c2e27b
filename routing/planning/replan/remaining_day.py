"""Make the smaller operation that a day in progress leaves: trucks where they are, with what they carry.

Re-planning is planning again; nothing but this room knows that the day has begun. The way is one: the state
of the day gives the work that is left (yards, colonies, needs), then the trucks and depots that can do it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from routing.domain.clock import DayClock, TimeWindow
from routing.domain.fleet import HERE, Tank, Truck, Underway
from routing.domain.operation import Operation, place_key
from routing.domain.places import Depot
from routing.domain.plan import Plan
from routing.domain.ration import YardNeed
from routing.domain.travel import Lines, Matrix, Travel
from routing.domain.units import DAY_S
from routing.log.day import DayNow, TruckNow
from routing.need.ration import need_of_day
from routing.planning.replan.cargo import pails_aboard
from routing.planning.replan.needs import group_left, need_now, wall_s, yard_now


@dataclass(frozen=True)
class RemainingDay:
    """What is left to plan: an operation, its travel table, and what its yards need."""

    operation: Operation
    travel: Travel
    needs: tuple[YardNeed, ...]


@dataclass(frozen=True)
class DayInProgress:
    """A day as it stands: the operation of its morning, its travel table, the state, and the plan driven."""

    operation: Operation
    travel: Travel
    state: DayNow
    before: Plan | None = None

    @property
    def clock(self) -> DayClock:
        """The clock of the day."""
        return self.operation.clock(self.state.day)


def remaining_day(day: DayInProgress, leaving: frozenset[str] = frozenset()) -> RemainingDay:
    """The rest of a day as an operation of its own. Yards that are done are no longer part of it.

    A yard that the plan driven feeds only in part is not done with its part; a truck at work at a stop of it
    has begun there before now, unless it is one of ``leaving``.
    """
    return with_trucks(day, _work_left(day), leaving)


def with_trucks(
    day: DayInProgress, work: RemainingDay, leaving: frozenset[str] = frozenset()
) -> RemainingDay:
    """The work that is left with the trucks and depots that can do it, whatever trucks ``work`` had."""
    state, clock, operation = day.state, day.clock, day.operation
    depots = {d.depot_id: _depot(d, state, clock) for d in operation.depots.values()}
    trucks: dict[str, Truck] = {}
    standing: dict[str, str] = {}
    for truck in operation.trucks.values():
        spent_s = 0 if truck.truck_id in leaving else spent_here_s(truck.truck_id, state, day.before)
        moved = _truck(operation, day.travel, truck, state, clock, spent_s)
        if moved is not None and moved.underway is not None:
            pails = pails_aboard(state.trucks[truck.truck_id], day.before)
            moved = replace(moved, underway=replace(moved.underway, pails=pails))
        if moved is None:
            # It keeps its place in the list (its letter on the map), but nobody can send it anywhere.
            trucks[truck.truck_id] = replace(truck, available=(state.day - timedelta(days=1),))
            continue
        trucks[truck.truck_id] = moved
        if moved.start_depot not in depots:
            place = _where(operation, truck, state.trucks[truck.truck_id])
            standing[moved.start_depot] = place
            depots[moved.start_depot] = _here(operation, moved.start_depot, place)
    smaller = replace(work.operation, depots=depots, trucks=trucks)
    return RemainingDay(smaller, stand_in(day.travel, standing), work.needs)


def _work_left(day: DayInProgress) -> RemainingDay:
    """The yards that are not done, the colonies that wait there, and what they need now."""
    operation, state, clock = day.operation, day.state, day.clock
    colonies = _colonies_left(operation, state, day.before)
    yards = {
        yard_id: yard_now(yard, state.yards.get(yard_id), state.now, clock)
        for yard_id, yard in operation.yards.items()
        if not _done(yard_id, state, colonies)
    }
    groups = tuple(
        replace(g, colonies=colonies[g.yard_id, g.group]) for g in operation.groups if g.yard_id in yards
    )
    smaller = replace(operation, yards=yards, groups=groups)
    needs = tuple(
        need_now(need, state.yards.get(need.yard_id), smaller, state.now, clock)
        for need in need_of_day(smaller, state.day)
    )
    return RemainingDay(smaller, day.travel, needs)


def _colonies_left(operation: Operation, state: DayNow, before: Plan | None) -> dict[tuple[str, str], int]:
    """Colonies of each group of each yard that have got nothing yet."""
    part = {left.yard_id for left in before.unserved if left.volume_l > 0} if before else set()
    fed_in_part = replace(
        operation,
        yards={yard_id: yard for yard_id, yard in operation.yards.items() if yard_id in part},
        groups=tuple(group for group in operation.groups if group.yard_id in part),
    )
    wanted = {
        (need.yard_id, dose.group): dose.colonies
        for need in (need_of_day(fed_in_part, state.day) if part else ())
        for dose in need.doses
    }
    return {(g.yard_id, g.group): group_left(g, state.yards.get(g.yard_id), wanted) for g in operation.groups}


def _done(yard_id: str, state: DayNow, colonies: Mapping[tuple[str, str], int]) -> bool:
    known = state.yards.get(yard_id)
    if known is None or known.status != "done":
        return False
    return not any(left for (of, _), left in colonies.items() if of == yard_id)


def _depot(depot: Depot, now: DayNow, clock: DayClock) -> Depot:
    """A depot with what it still holds; one that is closed gives nothing (before the time told)."""
    known = now.depots.get(depot.depot_id)
    if known is None:
        return depot
    stock = tuple(
        replace(row, on_hand_l=known.stock_l.get(row.syrup_id, row.on_hand_l)) for row in depot.stock
    )
    if not known.closed:
        return replace(depot, stock=stock)
    # Trucks may still come home to it: its hours stand, but it gives nothing and nobody washes there.
    if known.closed_until is None:
        return replace(depot, stock=(), wash_down=False)
    opens = wall_s(clock, known.closed_until)
    stock = tuple(replace(row, from_s=max(row.from_s, opens)) for row in stock)
    return replace(depot, stock=stock, wash_down=False)


def _where(operation: Operation, truck: Truck, state: TruckNow) -> str:
    """The place that a truck goes on from: where it drives to when it is on its way, else where it stands.

    A place that the files no longer know is taken to be the truck's own depot.
    """
    here = state.toward if state.underway and state.toward else state.place
    return here if here in operation.positions() else place_key("depot", truck.start_depot)


def spent_here_s(truck_id: str, now: DayNow, before: Plan | None) -> int:
    """Seconds of the work of the stop that a truck stands at that are behind it, by the plan at most."""
    state = now.trucks.get(truck_id)
    if state is None or state.underway or state.arrived is None or state.heading_seq is None:
        return 0
    route = next((r for r in before.routes if r.truck_id == truck_id), None) if before else None
    stop = next((s for s in route.stops if s.seq == state.heading_seq), None) if route else None
    if stop is None or stop.kind == "end" or state.heading != state.place:
        return 0
    spent = min((now.now - state.arrived), stop.leave - stop.begin)
    return max(0, int(spent.total_seconds()))


def _truck(
    operation: Operation, travel: Travel, truck: Truck, now: DayNow, clock: DayClock, spent_s: int
) -> Truck | None:
    """The truck as it is now; None when it takes no more part in the day."""
    state = now.trucks.get(truck.truck_id)
    if state is None or not truck.available_on(now.day):
        return None
    as_it_is = replace(truck, tanks=tuple(_tank(tank, state) for tank in truck.tanks))
    if state.status == "not_started":
        return _not_started(operation, as_it_is, now, clock)
    if state.status != "working" or state.place is None:
        return None
    at_s = clock.seconds(now.now)
    here = _where(operation, truck, state)
    ahead_s = _ahead_s(travel, state, here, at_s, clock)
    underway = Underway(
        from_s=at_s + ahead_s - spent_s,
        worked_s=max(0, state.worked_s + ahead_s - spent_s),
        driven_s=state.driven_s + ahead_s,
        since_break_s=max(0, state.since_break_s + ahead_s - spent_s),
        driven_since_break_s=state.driving_since_pause_s + ahead_s,
        rank=state.hygiene_rank,
        pails_empty=state.pails_empty,
        moving=state.underway and state.toward == here != state.place,
        stranded=state.stranded and here == state.place,
    )
    kind, _, place_id = here.partition(":")
    start = place_id if kind == "depot" else f"{HERE}{truck.truck_id}"
    return replace(as_it_is, start_depot=start, underway=underway)


def _not_started(operation: Operation, truck: Truck, now: DayNow, clock: DayClock) -> Truck | None:
    """A truck still at its depot starts now at the earliest, within its shift."""
    shift = operation.shift_of(truck)
    first_s = max(shift.start_s, wall_s(clock, now.now))
    if first_s >= shift.end_s:
        return None
    if first_s < DAY_S:
        return replace(truck, shift=TimeWindow(first_s, shift.end_s))
    # After midnight no window of this date can begin: its crew is on the clock from now.
    return replace(truck, underway=Underway(from_s=clock.seconds(now.now)))


def _ahead_s(travel: Travel, state: TruckNow, here: str, at_s: int, clock: DayClock) -> int:
    """Seconds of driving that are left to the place a truck is on its way to."""
    if not (state.underway and state.toward == here and state.left and state.origin in travel.places):
        return 0
    drive_s = travel.leg(state.truck_id, state.origin, here).drive_s
    return max(0, clock.seconds(state.left) + drive_s - at_s)


def _tank(tank: Tank, state: TruckNow) -> Tank:
    held = state.tanks.get(tank.tank_id)
    if held is None:
        return tank
    level = min(max(0.0, held.volume_l), tank.capacity_l)
    return replace(tank, level_l=level, syrup_id=(held.syrup_id if level else None) or tank.syrup_id)


def _here(operation: Operation, depot_id: str, here: str) -> Depot:
    """A stand-in depot at the yard a truck goes on from, with nothing in store."""
    yard = operation.yards[here.partition(":")[2]]
    return Depot(depot_id, yard.name or yard.yard_id, yard.position, setup_s=0)


class _Aliased(Mapping[tuple[str, str], tuple[tuple[float, float], ...]]):
    """Lines of a travel table that also answer to the ids of stand-in places."""

    def __init__(self, lines: Lines, standing: Mapping[str, str]) -> None:
        self.lines, self.standing = lines, standing

    def __getitem__(self, pair: tuple[str, str]) -> tuple[tuple[float, float], ...]:
        a, b = pair
        return self.lines[self.standing.get(a, a), self.standing.get(b, b)]

    def __iter__(self) -> Iterator[tuple[str, str]]:
        return iter(self.lines)

    def __len__(self) -> int:
        return len(self.lines)


def stand_in(travel: Travel, standing: Mapping[str, str]) -> Travel:
    """The travel table with a row more for each stand-in depot: id, and the place key it stands at."""
    if not standing:
        return travel
    rows = np.array([*range(len(travel.places)), *(travel.index(key) for key in standing.values())])
    square = np.ix_(rows, rows)
    keys = {place_key("depot", depot_id): here for depot_id, here in standing.items()}

    def wider(matrix: Matrix) -> Matrix:
        distance, drive = matrix.distance_m[square].copy(), matrix.drive_s[square].copy()
        same = rows[:, None] == rows[None, :]
        distance[same], drive[same] = 0, 0
        if matrix.climb_m is None:
            return Matrix(distance, drive)
        climb = matrix.climb_m[square].copy()
        climb[same] = 0
        return Matrix(distance, drive, climb)

    return replace(
        travel,
        places=(*travel.places, *keys),
        positions=tuple(travel.positions[row] for row in rows),
        matrix=wider(travel.matrix),
        by_truck={truck_id: wider(matrix) for truck_id, matrix in travel.by_truck.items()},
        lines=_Aliased(travel.lines, keys),
        lines_by_truck={truck_id: _Aliased(lines, keys) for truck_id, lines in travel.lines_by_truck.items()},
    )
