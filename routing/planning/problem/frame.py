"""What every part of a day's problem is stated against: date, clock, trucks, syrups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from math import floor

from routing.domain.clock import DayClock
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation, place_key
from routing.domain.places import Yard
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.planning.problem.climb import Climb, climb_of

G = 1000.0
ML = 1000.0
ROUNDING_ML = 1e-6
"""A product of floats may lie so far below the whole millilitre that it is."""


def whole_ml(litres: float) -> int:
    """Whole millilitres in a volume, rounded down; 598.19 L are 598,190 and not one less."""
    return floor(litres * ML + ROUNDING_ML)


@dataclass(frozen=True, eq=False)
class Frame:
    """The fixed part of a day. ``syrups`` are the commodities, ``density`` theirs in g/mL.

    ``earliest_s`` and ``latest_s`` hold every truck's shift.
    """

    operation: Operation
    travel: Travel
    date: date
    needs: tuple[YardNeed, ...]
    trucks: tuple[Truck, ...]
    clock: DayClock
    syrups: tuple[str, ...]
    density: tuple[float, ...]
    earliest_s: int
    latest_s: int

    @cached_property
    def fastest_l_per_s(self) -> dict[str, float]:
        """The quickest filling of each syrup that any depot holds."""
        found: dict[str, float] = {}
        for depot in self.operation.depots.values():
            for row in depot.stock:
                found[row.syrup_id] = max(row.fill_l_per_s, found.get(row.syrup_id, 0.0))
        return found

    @cached_property
    def climb(self) -> Climb | None:
        """What the drives climb, where heights are known."""
        return climb_of(self.operation, self.travel)

    @cached_property
    def depot_places(self) -> list[int]:
        """Where the depots stand in the travel table, in their order."""
        return [self.travel.index(place_key("depot", depot_id)) for depot_id in self.operation.depots]


def frame_day(
    operation: Operation,
    travel: Travel,
    day: date,
    needs: Sequence[YardNeed],
    truck_ids: Sequence[str] | None = None,
) -> Frame:
    """The frame of a date, with the trucks that are available (and named, where names are given)."""
    trucks = tuple(
        truck
        for truck in operation.trucks.values()
        if truck.available_on(day) and (truck_ids is None or truck.truck_id in truck_ids)
    )
    clock = operation.clock(day)
    asked = {dose.syrup_id for need in needs for dose in need.doses}
    tanks = [tank for truck in trucks for tank in truck.tanks]
    aboard = {aboard_syrup(operation, tank) for tank in tanks if tank.level_l > 0}
    aboard |= {load.syrup_id for truck in trucks if truck.underway for load in truck.underway.pails}
    syrups = tuple(s for s in operation.syrups if s in asked | aboard)
    spans = [operation.shift_of(truck) for truck in trucks]
    return Frame(
        operation=operation,
        travel=travel,
        date=day,
        needs=tuple(needs),
        trucks=trucks,
        clock=clock,
        syrups=syrups,
        density=tuple(operation.syrups[s].density_kg_per_l or 0.0 for s in syrups),
        earliest_s=min((clock.elapsed_s(w.start_s) for w in spans), default=0),
        latest_s=max((clock.elapsed_s(w.end_s) for w in spans), default=86_400),
    )


def access(trucks: Sequence[Truck], yard: Yard) -> frozenset[int]:
    """Trucks (by position) that may drive to a yard at all: named, short enough, not too heavy empty."""
    return frozenset(
        k
        for k, truck in enumerate(trucks)
        if (not yard.trucks or truck.truck_id in yard.trucks)
        and (yard.max_length_m is None or truck.length_m is None or truck.length_m <= yard.max_length_m)
        and (yard.max_gross_kg is None or truck.tare_kg <= yard.max_gross_kg)
    )


def aboard_syrup(operation: Operation, tank: Tank) -> str | None:
    """The syrup a tank is bound to: its own, or the usual one when something is in it now."""
    return tank.syrup_id or (operation.feeding.syrup_id if tank.level_l > 0 else None)
