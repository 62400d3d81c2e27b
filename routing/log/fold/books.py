"""The books of a feeding day: trucks, yards, depots, and the plan in force."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import pairwise

from routing.domain.operation import Operation, place_key
from routing.domain.places import Health
from routing.domain.plan import Plan, Route
from routing.log.day import DepotNow, Gap
from routing.log.events import Event
from routing.log.facts import Planned
from routing.log.fold.begin import begin_place
from routing.log.fold.cargo import Cargo
from routing.log.fold.track import Track, stop_place, track
from routing.log.fold.truck import Mark, TruckDay
from routing.log.fold.yards import YardBook, take_plan


@dataclass
class Books:
    """The books of the day; ``event`` is the one being booked."""

    operation: Operation
    plans: Mapping[str, Plan]
    now: datetime
    trucks: dict[str, TruckDay] = field(default_factory=dict)
    yards: dict[str, YardBook] = field(default_factory=dict)
    depots: dict[str, DepotNow] = field(default_factory=dict)
    gaps: list[Gap] = field(default_factory=list)
    plan_ids: list[str] = field(default_factory=list)
    routes: dict[str, Route] = field(default_factory=dict)
    begins: dict[str, str] = field(default_factory=dict)
    route_from: datetime | None = None
    event: Event | None = None
    start_noted: frozenset[str] = frozenset()

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
            self.adopt(whole[-1], None)

    def adopt(self, event: Event, since: datetime | None) -> None:
        """Make the plan an event names the one in force."""
        assert isinstance(event.fact, Planned)
        plan = self.plans.get(event.fact.plan_id)
        if plan is None:
            self.say("no_plan_text", item=event.fact.plan_id)
            return
        take_plan(self.yards, plan)
        self.plan_ids.append(plan.plan_id)
        going = {truck_id: self.going(truck_id) for truck_id in self.trucks} if since else {}
        self.routes = {route.truck_id: route for route in plan.routes}
        self.route_from = since
        self.begins = {}
        for truck_id, truck in self.trucks.items():
            self._take_up(truck, self.routes.get(truck_id), going.get(truck_id), since)

    def _take_up(
        self, truck: TruckDay, route: Route | None, going: str | None, since: datetime | None
    ) -> None:
        """Go on with a truck by a new plan; ``going``: where it drove by the one before."""
        if route is None or not route.stops:
            if since is not None:
                truck.halt_orders(going, since)
            return
        here: str | None = None
        if since is not None and truck.started is not None:
            # A plan of the rest of the day starts where the truck will be, under a name of its own.
            here = begin_place(self.operation, route, (going, truck.place))
            self.begins[truck.truck_id] = here
            first = route.stops[0]
            truck.take_up(here, going, since, first.arrive, first.leave)
        truck.legs = {**truck.legs, **_legs(route, here)}

    def going(self, truck_id: str) -> str | None:
        """Where a truck drives by the plan in force and the reports so far."""
        found, route = self.track_of(truck_id), self.routes.get(truck_id)
        if found is None or found.heading is None or route is None:
            return None
        return stop_place(route, found.heading, self.begins.get(truck_id))

    def track_of(self, truck_id: str) -> Track | None:
        """The reports of a truck held against its route, None where it has none."""
        route = self.routes.get(truck_id)
        if route is None:
            return None
        moot = [y.yard_id for y in self.yards.values() if y.status in ("done", "skipped")]
        truck, since = self.trucks[truck_id], self.route_from
        marks = [m for m in truck.marks if since is None or m.at > since or _still(truck, m)]
        rest = since is not None and truck.started is not None
        return track(route, marks, moot, rest=rest, begins=self.begins.get(truck_id))

    def stock(self, depot_id: str, syrup_id: str, volume_l: float) -> None:
        """Bring syrup to a depot (or, below zero, take it)."""
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

    def yard(self, yard_id: str) -> YardBook:
        """The book of a yard, also of one the files no longer know."""
        if yard_id not in self.operation.yards:
            self.say("unknown", item=yard_id)
        return self.yards.setdefault(yard_id, YardBook(yard_id))

    def rank(self, place: str) -> int:
        """The health rank a truck takes on at a place."""
        kind, _, place_id = place.partition(":")
        yard = self.operation.yards.get(place_id) if kind == "yard" else None
        if yard is None:
            return 0
        watched = yard.health is Health.WATCH and not self.operation.work.watch_after_clean
        return 0 if watched else yard.health.rank


def _still(truck: TruckDay, mark: Mark) -> bool:
    """An arrival before a new plan, at the place where the truck still stands, counts in it too."""
    here = not truck.underway and truck.place == mark.place and truck.arrived == mark.at
    return mark.phase == "arrive" and here


def _legs(route: Route, here: str | None) -> dict[tuple[str, str], int]:
    places = [stop_place(route, stop, here) for stop in route.stops]
    pairs = pairwise(places)
    return {pair: stop.leg.drive_s for pair, stop in zip(pairs, route.stops[1:], strict=True)}
