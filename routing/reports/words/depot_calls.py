"""Say at each call at a depot what to load there, and what the trip that begins there asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.plan import Aboard, Fill, Route, Stop, TankState
from routing.reports.words.format import Units, plural
from routing.reports.words.marks import stop_marks
from routing.reports.words.supply_names import syrup_name
from routing.reports.words.text import cut

NAME_COST = 24


@dataclass(frozen=True)
class Limit:
    """What track or bridge at a stop of the trip bear, and what the truck weighs when it comes there."""

    mark: str
    limit_kg: float
    gross_kg: float

    def told(self, units: Units) -> str:
        """``9,921 lb at stop 1, you come with 8,168 lb: load no more than planned``."""
        return (
            f"{units.mass(self.limit_kg)} at stop {self.mark}, you come with {units.mass(self.gross_kg)}: "
            "load no more than planned"
        )


@dataclass(frozen=True)
class Call:
    """One loading: at the start of the day, or a refill. ``before``: what is aboard on arriving.

    ``limit`` is the tightest of the trip until the next loading; ``empties_back``: empty pails that come
    aboard on that trip.
    """

    stop: Stop
    before: Aboard
    limit: Limit | None = None
    empties_back: int = 0

    @property
    def pails(self) -> int:
        """Full pails taken aboard."""
        return sum(fill.pails for fill in self.stop.fill if fill.tank_id is None)

    @property
    def empties_off(self) -> int:
        """Empty pails that are taken off."""
        return max(0, self.before.pails_empty - self.stop.after.pails_empty)

    @property
    def checks(self) -> tuple[str, ...]:
        """What to look at before driving on with pails."""
        full = ("full pails counted, lidded and strapped",) if self.pails else ()
        return (*full, "empty pails and lids counted") if self.empties_off else full


def calls_of(operation: Operation, route: Route) -> dict[int, Call]:
    """Every loading of a route by its ``seq``. A truck that goes on in mid-day need not load first."""
    marks, calls = stop_marks(route), {}
    before = at_dawn(operation, operation.trucks.get(route.truck_id))
    for i, stop in enumerate(route.stops):
        if stop.kind == "refill" or (stop.kind == "start" and (stop.fill or not _underway(operation, route))):
            trip = _until_next_loading(route.stops[i:])
            calls[stop.seq] = Call(stop, before, _tightest(operation, trip, marks), _empties_back(trip))
        before = stop.after
    return calls


def at_dawn(operation: Operation, truck: Truck | None) -> Aboard:
    """What a truck carries before the morning's loading, or where it goes on from in mid-day."""
    tanks = {}
    for tank in truck.tanks if truck else ():
        syrup_id = tank.syrup_id or (operation.feeding.syrup_id if tank.level_l > 0 else None)
        tanks[tank.tank_id] = TankState(syrup_id, tank.level_l)
    found = truck.underway if truck else None
    full = sum(load.pails for load in found.pails) if found else 0
    return Aboard(tanks, full, found.pails_empty if found else 0, truck.tare_kg if truck else 0.0)


def take_text(operation: Operation, stop: Stop) -> str:
    """``TAKE 172.4 gal 2:1 sugar, 20 full pails``: by syrup what is pumped, pails apart."""
    units = Units(operation.units)
    amounts = [f"{units.volume(litres)} {syrup}" for syrup, litres in pumped(operation, stop).items()]
    pails = sum(fill.pails for fill in stop.fill if fill.tank_id is None)
    amounts += [plural(pails, "full pail")] if pails else []
    return f"TAKE {', '.join(amounts)}" if amounts else ""


def pumped(operation: Operation, stop: Stop) -> dict[str, float]:
    """Litres to pump of each syrup: neither two syrups nor tanks and pails make a sum that a meter shows."""
    taken: dict[str, float] = {}
    for fill in (fill for fill in stop.fill if fill.tank_id is not None):
        name = cut(syrup_name(operation, fill.syrup_id), NAME_COST)
        taken[name] = taken.get(name, 0.0) + fill.volume_l
    return taken


def in_order(fills: Sequence[Fill]) -> list[Fill]:
    """What is loaded, tanks first and pails last."""
    return sorted(fills, key=lambda fill: fill.tank_id is None)


def _underway(operation: Operation, route: Route) -> bool:
    truck = operation.trucks.get(route.truck_id)
    return truck is not None and truck.underway is not None


def _until_next_loading(stops: Sequence[Stop]) -> list[tuple[Aboard, Stop]]:
    """The yard visits of a trip, each with what is aboard on arriving."""
    trip, before = [], stops[0].after
    for stop in stops[1:]:
        if stop.kind == "refill":
            break
        if stop.kind == "yard":
            trip.append((before, stop))
        before = stop.after
    return trip


def _tightest(
    operation: Operation, trip: Sequence[tuple[Aboard, Stop]], marks: dict[int, str]
) -> Limit | None:
    limits = [
        Limit(marks[stop.seq], yard.max_gross_kg, before.gross_kg)
        for before, stop in trip
        if (yard := operation.yards.get(stop.place_id)) is not None and yard.max_gross_kg is not None
    ]
    return min(limits, key=lambda limit: limit.limit_kg - limit.gross_kg, default=None)


def _empties_back(trip: Sequence[tuple[Aboard, Stop]]) -> int:
    return sum(max(0, stop.after.pails_empty - before.pails_empty) for before, stop in trip)
