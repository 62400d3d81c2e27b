"""Fill in what a short note leaves unsaid, from the plan and the state of the day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.domain.errors import ValueRefused
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan, Route, Stop
from routing.log.day import DayNow
from routing.log.fold.track import is_refill


@dataclass(frozen=True)
class Said:
    """An amount as told: for a group or a tank if named, in all or for each colony (or pail).

    ``full``: a tank was filled to the brim.
    """

    name: str = ""
    count: int | None = None
    total_l: float | None = None
    each_l: float | None = None
    syrup_id: str = ""
    full: bool = False


@dataclass(frozen=True)
class Known:
    """What a note is read against."""

    operation: Operation
    state: DayNow
    plans: Mapping[str, Plan]

    def route(self, truck_id: str) -> Route | None:
        """The route of a truck in the newest plan that has one."""
        return self.route_and_rest(truck_id)[0]

    def route_and_rest(self, truck_id: str) -> tuple[Route | None, bool]:
        """The route of a truck, and whether it is the rest of a day that the truck was out in already."""
        for plan_id in reversed(self.state.plan_ids):
            plan = self.plans[plan_id]
            for route in plan.routes:
                if route.truck_id == truck_id:
                    return route, bool(plan.replaces) and self.state.trucks[truck_id].started is not None
        return None, False

    def lot(self, syrup_id: str) -> str:
        """The lot that the files give for a syrup."""
        syrup = self.operation.syrups.get(syrup_id)
        return syrup.lot if syrup else ""

    def next_stop(self, truck_id: str, kind: str, place_id: str) -> Stop | None:
        """The first planned stop of a kind at a place that is not done."""
        route, rest = self.route_and_rest(truck_id)
        done = self.state.trucks[truck_id].done_seqs
        for stop in route.stops if route else ():
            fits = stop.kind == kind or (kind == "refill" and is_refill(stop, rest))
            if fits and stop.place_id == place_id and stop.seq not in done:
                return stop
        return None


def truck_of(known: Known, said: str, place: str = "") -> str:
    """The truck a note is about: named, or the only one it can be. Raises ValueRefused when unclear."""
    trucks = known.state.trucks
    if said:
        return said
    kind, _, place_id = place.partition(":")
    planned = known.state.yards[place_id].truck_ids if kind == "yard" else ()
    at_place = [t.truck_id for t in trucks.values() if place and place in (t.place, t.heading)]
    routes = [truck_id for truck_id in trucks if known.route(truck_id) is not None]
    for choice in (planned, [t for t in planned if t in at_place], at_place, routes, list(trucks)):
        if len(choice) == 1:
            return choice[0]
    raise ValueRefused(f"say which truck with -t: {', '.join(trucks)}")


def place_of(operation: Operation, place_id: str) -> str:
    """The key of a yard or depot id. Raises ValueRefused when it is both or neither."""
    kind, colon, rest = place_id.partition(":")
    if colon and kind in ("yard", "depot") and rest in getattr(operation, f"{kind}s"):
        return place_id
    kinds = [k for k in ("yard", "depot") if place_id in getattr(operation, f"{k}s")]
    if len(kinds) == 1:
        return place_key(kinds[0], place_id)
    if kinds:
        raise ValueRefused(f"{place_id} is a yard and a depot: write yard:{place_id} or depot:{place_id}")
    raise ValueRefused(f"there is no yard or depot {place_id}")
