"""Work out what one truck could do for one yard, had it nothing else to do all day: on the safe side."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from routing.audit.evidence.book import Book
from routing.domain.fleet import Truck
from routing.domain.operation import place_key
from routing.domain.places import Depot, Yard
from routing.domain.plan import Unserved
from routing.domain.supplies import Risk
from routing.domain.units import GRAVITY_M_PER_S2, J_PER_MJ


@dataclass(frozen=True)
class Wanted:
    """What a yard that is left could take at most: litres by syrup, pumped and in pails; pails; hands.

    ``late``: some of its feeders may be filled late in the day only.
    """

    pumped: Mapping[str, float]
    in_pails: Mapping[str, float]
    pails: int
    hands_s: float
    late: bool

    @property
    def by_syrup(self) -> dict[str, float]:
        """Litres by syrup, pumped and in pails together."""
        both: dict[str, float] = defaultdict(float)
        for part in (self.pumped, self.in_pails):
            for syrup_id, volume_l in part.items():
                both[syrup_id] += volume_l
        return dict(both)


def wanted(book: Book, left: Unserved) -> Wanted:
    """What may be left for a yard, never too little: all of it of each syrup that its groups are fed."""
    op = book.operation
    pumped: dict[str, float] = {}
    in_pails: dict[str, float] = {}
    hands_s, late = 0.0, False
    for group in op.groups_of(left.yard_id):
        feeder = op.feeders.get(group.feeder_id)
        if feeder is None or not group.colonies:
            continue
        (in_pails if feeder.swapped else pumped)[group.syrup_id] = left.volume_l
        hands_s = max(hands_s, feeder.service_s * left.colonies)
        late = late or (feeder.spills is Risk.HIGH and op.feeding.robbing == "high")
    return Wanted(pumped, in_pails, left.colonies if in_pails else 0, hands_s, late)


def able_trucks(book: Book, yard: Yard) -> tuple[Truck, ...]:
    """The trucks that may drive in, empty, on the planned day."""
    return tuple(
        truck
        for truck in book.trucks()
        if (not yard.trucks or truck.truck_id in yard.trucks)
        and (yard.max_length_m is None or (truck.length_m or 0.0) <= yard.max_length_m)
        and (yard.max_gross_kg is None or truck.tare_kg <= yard.max_gross_kg)
    )


def carries(book: Book, truck: Truck, yard: Yard, want: Wanted) -> bool:
    """Whether a truck can bring all of it at once, in tanks kept for its syrup and in pails."""
    room = {syrup_id: _tanks_l(truck, syrup_id) for syrup_id in want.pumped}
    if any(volume_l > room[syrup_id] for syrup_id, volume_l in want.pumped.items()):
        return False
    load_kg = sum(volume_l * book.density(syrup_id) for syrup_id, volume_l in want.by_syrup.items())
    load_kg += want.pails * book.operation.work.pail_kg
    aboard_kg = sum(
        t.level_l * book.density(t.syrup_id or book.operation.feeding.syrup_id) for t in truck.tanks
    )
    most_kg = truck.gvwr_kg if yard.max_gross_kg is None else min(truck.gvwr_kg, yard.max_gross_kg)
    return want.pails <= truck.pail_slots and truck.tare_kg + aboard_kg + load_kg <= most_kg


def _tanks_l(truck: Truck, syrup_id: str) -> float:
    """Litres that tanks kept for a syrup, and no other tank, hold."""
    return sum(tank.capacity_l for tank in truck.tanks if tank.syrup_id == syrup_id)


def trip_s(book: Book, truck: Truck, yard: Yard, want: Wanted) -> tuple[int, float] | None:
    """Seconds driven, and worked with loading, on a trip to a yard alone; None where there is none."""
    start = book.operation.depots.get(truck.start_depot)
    key = place_key("yard", yard.yard_id)
    try:
        out = book.travel.leg(truck.truck_id, place_key("depot", truck.start_depot), key)
        back = book.travel.leg(truck.truck_id, key, place_key("depot", truck.end_depot))
    except KeyError:
        return None
    load_s = _loading_s(book, start, want)
    if load_s is None:
        return None
    pump_s = sum(want.pumped.values()) / truck.pump_l_per_s if truck.pump_l_per_s else 0.0
    stand_s = yard.setup_s + max(want.hands_s, pump_s)
    return out.drive_s + back.drive_s, load_s + out.drive_s + stand_s + back.drive_s


def _loading_s(book: Book, depot: Depot | None, want: Wanted) -> float | None:
    """Seconds to load all of it where the truck starts; None where that cannot be done, or not at once."""
    if depot is None or (want.pails and not depot.base):
        return None
    seconds = depot.setup_s + want.pails * book.operation.work.pail_load_s
    for syrup_id, volume_l in want.by_syrup.items():
        stock = depot.stock_of(syrup_id)
        if stock is None or stock.from_s or (stock.on_hand_l is not None and stock.on_hand_l < volume_l):
            return None
        seconds += volume_l / stock.fill_l_per_s
    return seconds


def hours_suffice(book: Book, truck: Truck, yard: Yard, want: Wanted) -> bool:
    """Whether a trip to a yard alone surely fits hours and shift, over before a break is due."""
    shift, window, trip = (
        book.operation.shift,
        book.operation.shift_of(truck),
        trip_s(book, truck, yard, want),
    )
    if trip is None:
        return False
    driven_s, worked_s = trip
    open_s = book.clock.elapsed_s(window.end_s) - book.clock.elapsed_s(window.start_s)
    most_s = min(shift.max_s + shift.overtime_s, open_s, shift.break_after_s)
    return driven_s <= shift.max_driving_s and worked_s <= most_s


def lone_cost(book: Book, truck: Truck, yard: Yard, want: Wanted) -> float:
    """What a trip to a yard alone costs at most, without the syrup: infinite where none is to be had."""
    cost, trip = book.operation.cost, trip_s(book, truck, yard, want)
    if trip is None:
        return float("inf")
    key = place_key("yard", yard.yard_id)
    legs = (
        book.travel.leg(truck.truck_id, place_key("depot", truck.start_depot), key),
        book.travel.leg(truck.truck_id, key, place_key("depot", truck.end_depot)),
    )
    hours, km = trip[1] / 3600.0, sum(leg.distance_m for leg in legs) / 1000.0
    wage = max(cost.labor_per_h, cost.overtime_per_h) * truck.crew
    roads = book.operation.roads
    lift_j = truck.gvwr_kg * GRAVITY_M_PER_S2 * sum(leg.climb_m for leg in legs)
    fuel_l = km * truck.fuel_full_l_per_km + hours * truck.idle_l_per_h
    fuel_l += lift_j / (roads.climb_efficiency * roads.fuel_mj_per_l * J_PER_MJ)
    return hours * wage + fuel_l * cost.fuel_per_l + km * cost.vehicle_per_km + truck.fixed_cost
