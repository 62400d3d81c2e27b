"""The books of an audit: a plan's decisions, and beside each what was worked out again from the facts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from routing.domain.clock import DayClock
from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.places import Depot, Yard
from routing.domain.plan import Fill, Plan, Pour, Route, Stop
from routing.domain.travel import Travel
from routing.domain.units import GRAVITY_M_PER_S2, J_PER_MJ
from routing.log.day import DayNow

EMPTY_L = 1e-3
FAR_DAYS = 3


@dataclass(frozen=True)
class TankLevel:
    """Syrup in one tank; ``syrup_id`` None when it is empty."""

    syrup_id: str | None
    volume_l: float

    @property
    def empty(self) -> bool:
        """Nothing in it but rounding."""
        return self.volume_l <= EMPTY_L


@dataclass(frozen=True)
class Aboard:
    """What a truck carries at one moment. Full pails by syrup: how many, and their litres together."""

    tanks: dict[str, TankLevel]
    full: dict[str, tuple[int, float]]
    pails_empty: int

    @property
    def pails_full(self) -> int:
        """Full pails of every syrup."""
        return sum(count for count, _ in self.full.values())


@dataclass(frozen=True)
class Move:
    """One row of syrup going into or out of a known tank, with the tank before and after."""

    row: Pour | Fill
    tank_id: str
    before: TankLevel
    after: TankLevel


@dataclass(frozen=True)
class Times:
    """Elapsed seconds of a stop from local midnight of the planned date."""

    arrive_s: int
    begin_s: int
    leave_s: int


@dataclass
class Halt:
    """One stop gone through again. ``drive_s`` and ``distance_m`` are None where no table has the leg."""

    stop: Stop
    key: str
    origin: str | None
    times: Times | None
    distance_m: int | None
    drive_s: int | None
    gross_in_kg: float
    gross_out_kg: float
    before: Aboard
    after: Aboard
    moves: tuple[Move, ...]
    yard: Yard | None
    depot: Depot | None
    climb_m: int = 0


@dataclass
class Replay:
    """One route gone through again, by a truck that the operation knows."""

    book: Book
    route: Route
    truck: Truck
    halts: list[Halt] = field(default_factory=list)

    def fuel_l_per_km(self, gross_kg: float) -> float:
        """Fuel rate, linear between empty at tare and full at the legal gross."""
        t = self.truck
        share = (gross_kg - t.tare_kg) / (t.gvwr_kg - t.tare_kg)
        return t.fuel_empty_l_per_km + (t.fuel_full_l_per_km - t.fuel_empty_l_per_km) * share

    def leg_fuel_l(self, halt: Halt) -> float:
        """Fuel of the drive to a halt: by distance and load, and for lifting the whole truck."""
        flat_l = (halt.distance_m or 0) / 1000.0 * self.fuel_l_per_km(halt.gross_in_kg)
        roads = self.book.operation.roads
        lift_j = halt.gross_in_kg * GRAVITY_M_PER_S2 * halt.climb_m
        return flat_l + lift_j / (roads.climb_efficiency * roads.fuel_mj_per_l * J_PER_MJ)

    def timed(self) -> Iterator[tuple[Halt, Times]]:
        """The halts whose times can be read."""
        for halt in self.halts:
            if halt.times is not None:
                yield halt, halt.times

    def span(self) -> tuple[int, int] | None:
        """Elapsed seconds of the first beginning and the last departure, None when unreadable.

        A crew in mid-day is on the clock from where its route starts, also while it waits there.
        """
        if not self.halts or self.halts[0].times is None or self.halts[-1].times is None:
            return None
        first = self.halts[0].times
        begins = first.begin_s if self.truck.underway is None else first.arrive_s
        return begins, self.halts[-1].times.leave_s


@dataclass
class Book:
    """The plan under audit with the facts it is held against.

    ``now``: how the day stood that it is the rest of. ``derived``: the plan with everything anew that follows
    from its decisions (words, id, record), where that is to be judged too.
    """

    operation: Operation
    travel: Travel
    plan: Plan
    now: DayNow | None = None
    routes: list[Replay] = field(default_factory=list)
    derived: Plan | None = None

    @property
    def clock(self) -> DayClock:
        """The clock of the planned date where the operation is."""
        return DayClock(self.plan.date, self.operation.timezone)

    def trucks(self) -> tuple[Truck, ...]:
        """The trucks that the plan could send out on its date."""
        named, on = self.plan.trucks, self.plan.date
        trucks = self.operation.trucks.values()
        return tuple(t for t in trucks if t.available_on(on) and (not named or t.truck_id in named))

    def seconds(self, moment: datetime) -> int | None:
        """Elapsed seconds of a time, None for a naive one or one days off."""
        if moment.tzinfo is None or abs((moment.date() - self.plan.date).days) > FAR_DAYS:
            return None
        return self.clock.seconds(moment)

    def hhmm(self, elapsed_s: float) -> str:
        """The local time for a finding's text."""
        return self.clock.at(elapsed_s).strftime("%H:%M:%S")

    def density(self, syrup_id: str | None) -> float:
        """kg/L, 0 for what is not known (which is a finding of its own)."""
        syrup = self.operation.syrups.get(syrup_id or "")
        return (syrup.density_kg_per_l or 0.0) if syrup else 0.0

    def price(self, syrup_id: str) -> float:
        """Money per litre, 0 where none is given."""
        syrup = self.operation.syrups.get(syrup_id)
        return (syrup.price_per_l or 0.0) if syrup else 0.0

    def line(self, truck_id: str, origin: str, key: str) -> Sequence[tuple[float, float]] | None:
        """The line (lon, lat) that the travel table draws between two places; None where it has none."""
        return self.travel.lines_by_truck.get(truck_id, self.travel.lines).get((origin, key))

    def pours(self) -> Iterator[tuple[Halt, Pour]]:
        """Every pour on every route of a known truck."""
        for route in self.routes:
            for halt in route.halts:
                for pour in halt.stop.pour:
                    yield halt, pour


def rows_of(stop: Stop) -> tuple[Pour | Fill, ...]:
    """What is poured and what is filled at a stop."""
    return (*stop.pour, *stop.fill)
