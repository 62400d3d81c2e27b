"""Compute the state of a feeding day from its plan and its events."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime

from routing.domain.operation import Operation, place_key
from routing.domain.places import Health
from routing.domain.plan import Plan
from routing.log.corrections import in_force, still_waiting
from routing.log.day import DayNow, DepotNow, SkipNow
from routing.log.events import Event
from routing.log.facts import (
    Arrived,
    DepotClosed,
    Fed,
    Filled,
    Finished,
    Gauged,
    Left,
    Mixed,
    Planned,
    Received,
    Refilled,
    Rested,
    Skipped,
    Started,
    TruckBack,
    TruckOut,
    Urgent,
    Waiting,
    Washed,
    YardClosed,
)
from routing.log.fold.books import Books
from routing.log.fold.gaps import call_gaps, closing_gaps, pour_gaps
from routing.log.fold.summary import truck_now
from routing.log.fold.track import stop_place
from routing.log.fold.truck import Mark, TruckDay


def day_now(
    operation: Operation, day: date, plans: Mapping[str, Plan], events: Iterable[Event], now: datetime
) -> DayNow:
    """The state of a date at ``now``, from the events up to then; the order of ``events`` is of no matter.

    ``plans`` by plan id: those that ``planned`` events name. Levels and stock in the operation are taken
    to be those of the morning. The newest plan of the whole day holds from its beginning; a plan of the
    rest of the day holds from the time of its event. Ids that the operation does not know are told as
    gaps and change nothing.
    """
    events = tuple(events)
    listed = [e for e in in_force(events) if e.day == day and not isinstance(e.fact, Waiting)]
    told = tuple(event for event in listed if event.at <= now)
    if not any(_whole(event) for event in told):
        # Before the crews leave, the plan of the day is that which they will leave by.
        told = (*told, *(event for event in listed if _whole(event)))
    # Whose day a note is that waits is not known before it is read: it is told of on every day.
    return replay(operation, plans, (*told, *still_waiting(events)), now).state(day, len(told))


def _whole(event: Event) -> bool:
    return isinstance(event.fact, Planned) and not event.fact.rest


def replay(operation: Operation, plans: Mapping[str, Plan], told: Iterable[Event], now: datetime) -> Fold:
    """The books of a day after its events, which are those in force, in their order."""
    told = tuple(told)
    fold = Fold(operation, plans, now)
    fold.start_noted = frozenset(event.truck_id for event in told if isinstance(event.fact, Started))
    fold.open_plan(told)
    for event in told:
        fold.take(event)
    return fold


class Fold(Books):
    """How each event changes the books of the day."""

    def take(self, event: Event) -> None:
        """Change the books by one event."""
        self.event = event
        fact = event.fact
        if isinstance(fact, Planned):
            if fact.rest:
                self.adopt(event, event.at)
            return
        if isinstance(fact, Waiting):
            self.say("waiting", item=" ".join(fact.words))
            return
        if event.truck_id and event.truck_id not in self.trucks:
            self.say("unknown", item=event.truck_id)
            return
        truck = self.trucks.get(event.truck_id)
        if truck is not None:
            self._take_truck(event, truck)
        if isinstance(fact, (Mixed, Received)):
            self.stock(fact.depot_id, fact.syrup_id, fact.volume_l)
        elif isinstance(fact, DepotClosed) and fact.depot_id in self.depots:
            old = self.depots[fact.depot_id]
            self.depots[fact.depot_id] = replace(old, closed=True, closed_until=fact.until, words=fact.words)
        elif isinstance(fact, (Skipped, YardClosed, Urgent)):
            self._take_yard(event, fact)

    def _take_yard(self, event: Event, fact: Skipped | YardClosed | Urgent) -> None:
        yard = self.yard(fact.yard_id)
        if isinstance(fact, Urgent):
            yard.call(fact, event.at)
            call_gaps(self.say, self.operation, yard, fact)
            return
        if isinstance(fact, Skipped):
            yard.skipped = SkipNow(fact.reason, fact.words, event.at, event.truck_id)
        if isinstance(fact, YardClosed) or fact.until is not None:
            yard.closed, yard.closed_until = True, fact.until

    def _take_truck(self, event: Event, truck: TruckDay) -> None:
        fact, at = event.fact, event.at
        truck.heard = at
        if truck.started is None and isinstance(
            fact, (Arrived, Left, Fed, Skipped, Refilled, Washed, Rested, Finished)
        ):
            self._assume_start(truck, at)
        if isinstance(fact, Started):
            self._begin_shift(truck, fact.depot_id, at)
            truck.marks.append(Mark("start", place_key("depot", fact.depot_id), at, "leave"))
            self._load(truck, fact.depot_id, fact.fills)
        elif isinstance(fact, Arrived):
            self._arrive(truck, fact.place, at)
        elif isinstance(fact, Left):
            truck.leave(at)
        elif isinstance(fact, (Fed, Skipped)):
            self._visit(event, truck, fact)
        elif isinstance(fact, (Refilled, Washed, Finished)):
            self._at_depot(truck, fact, at)
        elif isinstance(fact, Gauged):
            truck.cargo.gauge(fact.tank_id, fact.volume_l)
        elif isinstance(fact, Rested):
            truck.rest(fact.seconds, at)
            truck.marks.append(Mark("break", "", at, "leave"))
        elif isinstance(fact, TruckOut):
            truck.break_down(fact.words, at)
        elif isinstance(fact, TruckBack):
            truck.come_back(at)

    def _begin_shift(self, truck: TruckDay, depot_id: str, at: datetime) -> None:
        """A start is noted when the truck leaves; its crew has worked since the loading began."""
        began = truck.started is None
        truck.start(place_key("depot", depot_id), at)
        route = self.routes.get(truck.truck_id)
        if began and route is not None and route.stops:
            truck.started = at - (route.stops[0].leave - route.start)

    def _assume_start(self, truck: TruckDay, at: datetime) -> None:
        """Nobody noted the start, or only later than this: take the plan's, and its load unless noted."""
        route = self.routes.get(truck.truck_id)
        home = self.operation.trucks[truck.truck_id].start_depot
        if truck.truck_id in self.start_noted:
            self._begin_shift(truck, home, at)
            return
        self.say("start_assumed")
        if route is None or not route.stops or route.stops[0].place_id not in self.operation.depots:
            truck.start(place_key("depot", home), at)
            return
        first = route.stops[0]
        truck.start(stop_place(route, first), min(at, first.leave))
        truck.started = min(at, route.start)
        truck.marks.append(Mark("start", stop_place(route, first), min(at, first.leave), "leave"))
        fills = (Filled(f.syrup_id, f.volume_l, f.tank_id, f.pails) for f in first.fill)
        self._load(truck, first.place_id, tuple(fills))

    def _arrive(self, truck: TruckDay, place: str, at: datetime) -> None:
        truck.rank_before = truck.rank
        truck.rank = max(truck.rank, self.rank(place))
        truck.arrive(place, at)
        truck.marks.append(Mark("arrive", place, at, "arrive"))

    def _visit(self, event: Event, truck: TruckDay, fact: Fed | Skipped) -> None:
        place = place_key("yard", fact.yard_id)
        moved = truck.place != place
        truck.work_done(place, event.at)
        truck.marks.append(Mark("yard", place, event.at, "leave"))
        if isinstance(fact, Fed):
            truck.rank = max(truck.rank, self.rank(place))
            self._feed(truck, fact, place)
        elif fact.reason.entered:
            truck.rank = max(truck.rank, self.rank(place))
        elif not moved:
            # It arrived, and turned round at the gate.
            truck.rank = truck.rank_before

    def _feed(self, truck: TruckDay, fact: Fed, place: str) -> None:
        yard = self.operation.yards.get(fact.yard_id)
        keeps = yard is not None and yard.health is Health.QUARANTINE
        book = self.yard(fact.yard_id)
        for row in fact.pours:
            truck.cargo.pour(row, keeps)
        standing: Counter[str] = Counter()
        for group in self.operation.groups_of(fact.yard_id):
            standing[group.group] += group.colonies
        pour_gaps(self.say, book, truck.truck_id, fact, place, bool(self.plan_ids), standing)

    def _at_depot(self, truck: TruckDay, fact: Refilled | Washed | Finished, at: datetime) -> None:
        place = place_key("depot", fact.depot_id)
        depot = self.operation.depots.get(fact.depot_id)
        if isinstance(fact, Finished):
            truck.end(place, at)
            truck.marks.append(Mark("end", place, at, "leave"))
            return
        truck.work_done(place, at)
        if depot is not None and depot.base:
            truck.cargo.pails_empty = 0
        if isinstance(fact, Washed):
            truck.rank = truck.rank_before = 0
            truck.marks.append(Mark("wash", place, at, "leave"))
            return
        truck.marks.append(Mark("refill", place, at, "leave"))
        self._load(truck, fact.depot_id, fact.fills)
        if fact.meter is not None:
            counted = sum(row.volume_l for row in fact.fills)
            if abs(fact.meter.volume_l - counted) > 0.5:
                self.say("meter_gap", place, amount=fact.meter.volume_l - counted)

    def _load(self, truck: TruckDay, depot_id: str, fills: tuple[Filled, ...]) -> None:
        for row in fills:
            truck.cargo.fill(row)
            self.stock(depot_id, row.syrup_id, -row.volume_l)

    def state(self, day: date, events: int) -> DayNow:
        """Close the books at ``now``."""
        self.event = None
        tracks = {truck_id: self.track_of(truck_id) for truck_id in self.trucks}
        now = {
            truck_id: truck_now(
                truck, self.routes.get(truck_id), tracks[truck_id], self.now, self.going(truck_id)
            )
            for truck_id, truck in self.trucks.items()
        }
        yards = {yard_id: book.now() for yard_id, book in self.yards.items()}
        depots = {depot_id: self._depot_now(depot) for depot_id, depot in self.depots.items()}
        gaps = (*self.gaps, *closing_gaps(now, yards, tracks, self.routes))
        return DayNow(day, self.now, tuple(self.plan_ids), now, yards, depots, gaps, events)

    def _depot_now(self, depot: DepotNow) -> DepotNow:
        again = depot.closed and depot.closed_until is not None and depot.closed_until <= self.now
        return replace(depot, closed=False, closed_until=None, words="") if again else depot
