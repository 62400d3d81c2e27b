"""Compute the state of a feeding day from its plan and its events."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from routing.domain.day import DayNow, DepotNow, Gap, SkipNow
from routing.domain.day_cargo import Cargo
from routing.domain.day_corrections import in_force
from routing.domain.day_events import (
    Arrived,
    DepotClosed,
    Event,
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
    Washed,
    YardClosed,
)
from routing.domain.day_gaps import closing_gaps, pour_gaps
from routing.domain.day_summary import truck_now
from routing.domain.day_track import Track, stop_place, track
from routing.domain.day_truck import Mark, TruckDay
from routing.domain.day_yards import YardBook, take_plan
from routing.domain.operation import Operation, place_key
from routing.domain.places import Health
from routing.domain.plan import Plan, Route


def day_now(
    operation: Operation, day: date, plans: Mapping[str, Plan], events: Iterable[Event], now: datetime
) -> DayNow:
    """The state of a date at ``now``, from the events up to then; the order of ``events`` is of no matter.

    ``plans`` by plan id: those that ``planned`` events name. Levels and stock in the operation are taken
    to be those of the morning. The newest plan of the whole day holds from its beginning; a plan of the
    rest of the day holds from the time of its event. Ids that the operation does not know are told as
    gaps and change nothing.
    """
    told = tuple(event for event in in_force(events) if event.day == day and event.at <= now)
    fold = Fold(operation, plans, now)
    fold.open_plan(told)
    for event in told:
        fold.take(event)
    return fold.state(day, len(told))


@dataclass
class Fold:
    """The books of the day, and how each event changes them."""

    operation: Operation
    plans: Mapping[str, Plan]
    now: datetime
    trucks: dict[str, TruckDay] = field(default_factory=dict)
    yards: dict[str, YardBook] = field(default_factory=dict)
    depots: dict[str, DepotNow] = field(default_factory=dict)
    gaps: list[Gap] = field(default_factory=list)
    plan_ids: list[str] = field(default_factory=list)
    routes: dict[str, Route] = field(default_factory=dict)
    route_from: datetime | None = None
    event: Event | None = None

    def __post_init__(self) -> None:
        usual, break_s = self.operation.feeding.syrup_id, self.operation.shift.break_s
        for truck in self.operation.trucks.values():
            cargo = Cargo(truck, usual, self.say)
            self.trucks[truck.truck_id] = TruckDay(truck.truck_id, cargo, break_s, {})
        self.yards = {yard_id: YardBook(yard_id) for yard_id in self.operation.yards}
        for depot in self.operation.depots.values():
            stock = {row.syrup_id: row.on_hand_l for row in depot.stock}
            self.depots[depot.depot_id] = DepotNow(depot.depot_id, stock)

    def say(self, code: str, place: str = "", item: str = "", amount: float = 0.0) -> None:
        """Note that something does not add up, with the event at hand."""
        event = self.event
        truck_id, event_id = (event.truck_id, event.event_id) if event else ("", "")
        self.gaps.append(Gap(code, truck_id, place, item, round(amount, 3), event_id))

    def open_plan(self, events: Iterable[Event]) -> None:
        """The newest plan of the whole day holds from its beginning, whenever it was noted."""
        whole = [e for e in events if isinstance(e.fact, Planned) and not e.fact.rest]
        if whole:
            self.event = whole[-1]
            self._adopt(whole[-1], None)

    def _adopt(self, event: Event, since: datetime | None) -> None:
        assert isinstance(event.fact, Planned)
        plan = self.plans.get(event.fact.plan_id)
        if plan is None:
            self.say("no_plan_text", item=event.fact.plan_id)
            return
        take_plan(self.yards, plan)
        self.plan_ids.append(plan.plan_id)
        self.routes = {route.truck_id: route for route in plan.routes}
        self.route_from = since
        for route in plan.routes:
            if route.truck_id in self.trucks:
                known = self.trucks[route.truck_id].legs
                self.trucks[route.truck_id].legs = {**known, **_legs(route)}

    def take(self, event: Event) -> None:
        """Change the books by one event."""
        self.event = event
        fact = event.fact
        if isinstance(fact, Planned):
            if fact.rest:
                self._adopt(event, event.at)
            return
        if event.truck_id and event.truck_id not in self.trucks:
            self.say("unknown", item=event.truck_id)
            return
        truck = self.trucks.get(event.truck_id)
        if truck is not None:
            self._take_truck(event, truck)
        if isinstance(fact, (Mixed, Received)):
            self._stock(fact.depot_id, fact.syrup_id, fact.volume_l)
        elif isinstance(fact, DepotClosed) and fact.depot_id in self.depots:
            old = self.depots[fact.depot_id]
            self.depots[fact.depot_id] = replace(old, closed=True, closed_until=fact.until, words=fact.words)
        elif isinstance(fact, (Skipped, YardClosed, Urgent)):
            self._take_yard(event, fact)

    def _take_yard(self, event: Event, fact: Skipped | YardClosed | Urgent) -> None:
        yard = self._yard(fact.yard_id)
        if isinstance(fact, Urgent):
            yard.urgent, yard.skipped, yard.finished = fact, None, False
            return
        if isinstance(fact, Skipped):
            yard.skipped = SkipNow(fact.reason, fact.words, event.at, event.truck_id)
        if isinstance(fact, YardClosed) or fact.until is not None:
            yard.closed, yard.closed_until = True, fact.until

    def _take_truck(self, event: Event, truck: TruckDay) -> None:
        fact, at = event.fact, event.at
        if truck.started is None and isinstance(
            fact, (Arrived, Left, Fed, Skipped, Refilled, Washed, Rested, Finished)
        ):
            self._assume_start(truck, at)
        if isinstance(fact, Started):
            truck.start(place_key("depot", fact.depot_id), at)
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
            truck.status, truck.out_words = "out", fact.words
        elif isinstance(fact, TruckBack):
            truck.status, truck.out_words = "working" if truck.started else "not_started", ""

    def _assume_start(self, truck: TruckDay, at: datetime) -> None:
        """Nobody noted the start: take the plan's, with the plan's load."""
        self.say("start_assumed")
        route = self.routes.get(truck.truck_id)
        home = self.operation.trucks[truck.truck_id].start_depot
        if route is None or not route.stops or self.route_from is not None:
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
        truck.rank = max(truck.rank, self._rank(place))
        truck.arrive(place, at)
        truck.marks.append(Mark("arrive", place, at, "arrive"))

    def _visit(self, event: Event, truck: TruckDay, fact: Fed | Skipped) -> None:
        place = place_key("yard", fact.yard_id)
        moved = truck.place != place
        truck.work_done(place, event.at)
        truck.marks.append(Mark("yard", place, event.at, "leave"))
        if isinstance(fact, Fed):
            truck.rank = max(truck.rank, self._rank(place))
            self._feed(truck, fact, place)
        elif fact.reason.entered:
            truck.rank = max(truck.rank, self._rank(place))
        elif not moved:
            # It arrived, and turned round at the gate.
            truck.rank = truck.rank_before

    def _feed(self, truck: TruckDay, fact: Fed, place: str) -> None:
        yard = self.operation.yards.get(fact.yard_id)
        keeps = yard is not None and yard.health is Health.QUARANTINE
        book = self._yard(fact.yard_id)
        for row in fact.pours:
            truck.cargo.pour(row, keeps)
        pour_gaps(self.say, book, truck.truck_id, fact, place, bool(self.plan_ids))

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
            self._stock(depot_id, row.syrup_id, -row.volume_l)

    def _stock(self, depot_id: str, syrup_id: str, volume_l: float) -> None:
        depot = self.depots.get(depot_id)
        if depot is None:
            self.say("unknown", item=depot_id, amount=volume_l)
            return
        limited = syrup_id not in depot.stock_l or depot.stock_l[syrup_id] is not None
        if not limited:
            return
        level = round((depot.stock_l.get(syrup_id) or 0.0) + volume_l, 3)
        if level < -0.0005:
            self.say("stock_short", place_key("depot", depot_id), syrup_id, -level)
        stock = {**depot.stock_l, syrup_id: max(0.0, level)}
        self.depots[depot_id] = replace(depot, stock_l=stock)

    def _yard(self, yard_id: str) -> YardBook:
        if yard_id not in self.operation.yards:
            self.say("unknown", item=yard_id)
        return self.yards.setdefault(yard_id, YardBook(yard_id))

    def _rank(self, place: str) -> int:
        kind, _, place_id = place.partition(":")
        yard = self.operation.yards.get(place_id) if kind == "yard" else None
        if yard is None:
            return 0
        watched = yard.health is Health.WATCH and not self.operation.work.watch_after_clean
        return 0 if watched else yard.health.rank

    def state(self, day: date, events: int) -> DayNow:
        """Close the books at ``now``."""
        self.event = None
        moot = [y.yard_id for y in self.yards.values() if y.status in ("done", "skipped")]
        tracks = {truck_id: self._track(truck_id, moot) for truck_id in self.trucks}
        now = {
            truck_id: truck_now(truck, self.routes.get(truck_id), tracks[truck_id], self.now)
            for truck_id, truck in self.trucks.items()
        }
        yards = {yard_id: book.now() for yard_id, book in self.yards.items()}
        depots = {depot_id: self._depot_now(depot) for depot_id, depot in self.depots.items()}
        gaps = (*self.gaps, *closing_gaps(now, yards, tracks, self.routes))
        return DayNow(day, self.now, tuple(self.plan_ids), now, yards, depots, gaps, events)

    def _track(self, truck_id: str, moot: list[str]) -> Track | None:
        route = self.routes.get(truck_id)
        if route is None:
            return None
        truck = self.trucks[truck_id]
        since = self.route_from
        marks = [m for m in truck.marks if since is None or m.at > since or self._still(truck, m)]
        return track(route, marks, moot)

    @staticmethod
    def _still(truck: TruckDay, mark: Mark) -> bool:
        """An arrival before a new plan, at the place where the truck still stands, counts in it too."""
        here = not truck.underway and truck.place == mark.place and truck.arrived == mark.at
        return mark.phase == "arrive" and here

    def _depot_now(self, depot: DepotNow) -> DepotNow:
        again = depot.closed and depot.closed_until is not None and depot.closed_until <= self.now
        return replace(depot, closed=False, closed_until=None, words="") if again else depot


def _legs(route: Route) -> dict[tuple[str, str], int]:
    legs: dict[tuple[str, str], int] = {}
    for before, after in zip(route.stops, route.stops[1:], strict=False):
        legs[stop_place(route, before), stop_place(route, after)] = after.leg.drive_s
    return legs
