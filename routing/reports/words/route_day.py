"""What every report of one truck's day needs to know: the route, the truck, its units and marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.plan import Aboard, Change, Plan, Route, Stop
from routing.domain.ration import YardNeed
from routing.reports.words.changes import new_visits
from routing.reports.words.depot_calls import Call, at_dawn, calls_of
from routing.reports.words.format import Units, hhmm
from routing.reports.words.marks import stop_marks, visits
from routing.reports.words.truck_style import style_of


@dataclass(frozen=True)
class Fact:
    """A short label and its text; ``strong`` for what must not be missed."""

    label: str
    text: str
    strong: bool = False


@dataclass(frozen=True)
class RouteDay:
    """One route of one plan, with what was worked out once for all that is said of it."""

    operation: Operation
    plan: Plan
    route: Route
    needs: Mapping[str, YardNeed] = field(default_factory=dict)

    @cached_property
    def units(self) -> Units:
        """The units the operation reads."""
        return Units(self.operation.units, self.operation.currency)

    @cached_property
    def marks(self) -> dict[int, str]:
        """The mark of each stop by its seq."""
        return stop_marks(self.route)

    @cached_property
    def visits(self) -> dict[str, tuple[tuple[str, str], ...]]:
        """All visits of each yard in the plan."""
        return visits(self.plan)

    @property
    def truck(self) -> Truck | None:
        """The truck of the route; None where the operation does not know it."""
        return self.operation.trucks.get(self.route.truck_id)

    def clock(self, moment: datetime) -> str:
        """Local ``HH:MM``, with ``(+1 day)`` past midnight."""
        return hhmm(moment, self.plan.timezone, self.plan.date)

    def before(self, stop: Stop) -> Aboard:
        """What the truck carries on arriving at a stop."""
        stops = self.route.stops
        i = stops.index(stop)
        return stops[i - 1].after if i else self.at_dawn()

    @cached_property
    def letter(self) -> str:
        """The letter of the truck on the map."""
        return style_of(self.operation, self.route.truck_id).letter

    @cached_property
    def new(self) -> dict[int, Change]:
        """The visits that a re-plan gave to this truck, by seq."""
        return new_visits(self.plan, self.route)

    @cached_property
    def calls(self) -> dict[int, Call]:
        """Every loading of the route, by seq."""
        return calls_of(self.operation, self.route)

    def at_dawn(self) -> Aboard:
        """What the truck carries before the morning's loading, or where it goes on from in mid-day."""
        return at_dawn(self.operation, self.truck)

    def weighed(self, gross_kg: float) -> str:
        """``17,230 lb of 19,500 lb allowed``."""
        text = self.units.mass(gross_kg)
        return f"{text} of {self.units.mass(self.truck.gvwr_kg)} allowed" if self.truck else text
