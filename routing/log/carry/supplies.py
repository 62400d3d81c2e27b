"""Carry over what tanks and depots hold: as typed, and from there on as the notes changed it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import Depot, Stock
from routing.domain.plan import Plan
from routing.log.day import TankNow
from routing.log.events import Event
from routing.log.facts import Gauged, Mixed, Planned, Received, Started
from routing.log.fold.books import Books
from routing.log.fold.fold import replay

SUPPLIES = (Gauged, Mixed, Received)
"""Facts about syrup that need no truck to be on the road."""


def supplies_at(
    operation: Operation, events: Iterable[Event], plans: Mapping[str, Plan], day: date, *, today: bool
) -> Operation:
    """The operation with what its tanks and depots hold on the morning of a date.

    ``events`` are those in force. What the files say is of the morning before the first note, or of the
    morning of the date typed beside it; from there on the notes count: loaded, poured, mixed, delivered,
    gauged. Full pails that came home are put back into store there. ``today``: with what was gauged, mixed
    and delivered on the date itself before the first truck left.
    """
    by_day: dict[date, list[Event]] = defaultdict(list)
    for event in events:
        by_day[event.day].append(event)
    carried, begins = operation, date.min
    for past in sorted(one for one in by_day if one < day):
        carried = _typed(operation, carried, begins, past)
        begins = past + timedelta(days=1)
        carried = _after(operation, carried, by_day[past], plans)
    carried = _typed(operation, carried, begins, day)
    if today:
        early = _before_start(by_day.get(day, ()))
        carried = _after(operation, carried, early, {}) if early else carried
    return carried


def without_start(events: Iterable[Event]) -> tuple[Event, ...]:
    """The plans of days on which a truck is noted without its start: its load is then that of the plan."""
    days: dict[date, dict[str, bool]] = defaultdict(dict)
    listed = list(events)
    for event in listed:
        if event.truck_id:
            started = isinstance(event.fact, Started)
            days[event.day][event.truck_id] = days[event.day].get(event.truck_id, False) or started
    asked = {day for day, trucks in days.items() if not all(trucks.values())}
    return tuple(event for event in listed if isinstance(event.fact, Planned) and event.day in asked)


def _before_start(events: Sequence[Event]) -> list[Event]:
    """What was noted of supplies before the first truck was on its way."""
    on_road = [event.at for event in events if event.truck_id and not isinstance(event.fact, Gauged)]
    first = min(on_road, default=None)
    return [e for e in events if isinstance(e.fact, SUPPLIES) and (first is None or e.at < first)]


def _typed(operation: Operation, carried: Operation, after: date, day: date) -> Operation:
    """Put in what the files say of the mornings from ``after`` to ``day``."""

    def new(said: date | None) -> bool:
        return said is not None and after <= said <= day

    trucks = {
        truck_id: replace(
            truck,
            tanks=tuple(
                typed if new(typed.gauged) else held
                for typed, held in zip(operation.trucks[truck_id].tanks, truck.tanks, strict=True)
            ),
        )
        for truck_id, truck in carried.trucks.items()
    }
    depots = {
        depot_id: replace(
            depot,
            stock=tuple(
                typed if new(typed.counted) else held
                for typed, held in zip(operation.depots[depot_id].stock, depot.stock, strict=True)
            ),
        )
        for depot_id, depot in carried.depots.items()
    }
    return replace(carried, trucks=trucks, depots=depots)


def _after(
    operation: Operation, carried: Operation, events: Sequence[Event], plans: Mapping[str, Plan]
) -> Operation:
    """The operation as the events of one day leave it at night."""
    if not events:
        return carried
    books = replay(carried, plans, events, max(event.at for event in events))
    _unload(books)
    trucks = {
        truck_id: replace(truck, tanks=_tanks(operation.trucks[truck_id], books.trucks[truck_id].cargo.tanks))
        for truck_id, truck in carried.trucks.items()
    }
    depots = {
        depot_id: replace(depot, stock=_stock(depot, books.depots[depot_id].stock_l))
        for depot_id, depot in carried.depots.items()
    }
    return replace(carried, trucks=trucks, depots=depots)


def _unload(books: Books) -> None:
    """Take the full pails off the trucks where they come home, if that is a base."""
    for truck_id, truck in books.trucks.items():
        home = books.operation.trucks[truck_id].end_depot
        if not books.operation.depots[home].base:
            continue
        for syrup_id, held in truck.cargo.pails.items():
            if held.volume_l:
                books.stock(home, syrup_id, held.volume_l)


def _tanks(truck: Truck, held: Mapping[str, TankNow]) -> tuple[Tank, ...]:
    return tuple(_tank(tank, held[tank.tank_id]) for tank in truck.tanks)


def _tank(tank: Tank, held: TankNow) -> Tank:
    level_l = min(max(0.0, held.volume_l), tank.capacity_l)
    return replace(tank, level_l=level_l, syrup_id=tank.syrup_id or (held.syrup_id if level_l else None))


def _stock(depot: Depot, stock_l: Mapping[str, float | None]) -> tuple[Stock, ...]:
    return tuple(replace(row, on_hand_l=stock_l.get(row.syrup_id, row.on_hand_l)) for row in depot.stock)
