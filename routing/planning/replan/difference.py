"""Say what a re-plan takes more, or less, than what was left of the plan it replaces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.plan import Difference, Plan, Route, Stop, TruckDifference
from routing.log.day import DayNow, TruckNow


@dataclass(frozen=True)
class _Ahead:
    """What still lies ahead: seconds of work, metres, litres of fuel and syrup, money but for the syrup."""

    work_s: float = 0.0
    distance_m: float = 0.0
    fuel_l: float = 0.0
    volume_l: float = 0.0
    cost: float = 0.0


def difference(operation: Operation, before: Plan, after: Plan, now: DayNow) -> Difference:
    """What lies ahead by the new plan, less what lies ahead by the old one from where the day stands.

    A leg that a truck drives already, or has driven, counts in neither.
    """
    told = {route.truck_id: _ahead(operation, route, _left(route, now), now) for route in before.routes}
    new = {
        route.truck_id: _ahead(operation, route, route.stops[1:], now, whole=True) for route in after.routes
    }
    named = [truck_id for truck_id in operation.trucks if truck_id in told or truck_id in new]
    trucks = {t: _less(new.get(t, _Ahead()), told.get(t, _Ahead())) for t in named}
    whole = _less(_sum(list(new.values())), _sum(list(told.values())))
    return Difference(whole.work_s, whole.distance_m, whole.fuel_l, whole.volume_l, whole.cost, trucks)


def _less(new: _Ahead, told: _Ahead) -> TruckDifference:
    return TruckDifference(
        work_s=round(new.work_s - told.work_s),
        distance_m=round(new.distance_m - told.distance_m),
        fuel_l=round(new.fuel_l - told.fuel_l, 3),
        volume_l=round(new.volume_l - told.volume_l, 3),
        cost=round(new.cost - told.cost, 2),
    )


def _left(route: Route, now: DayNow) -> tuple[Stop, ...]:
    """The stops of a route that are ahead by the reports: also the one a truck is at or drives to."""
    state = now.trucks.get(route.truck_id)
    if state is None or state.status == "not_started":
        return route.stops
    if state.status == "finished":
        return ()
    last = max(state.done_seqs, default=-1)
    return tuple(stop for stop in route.stops if stop.seq > last and stop.kind != "start")


def _ahead(
    operation: Operation, route: Route, stops: Sequence[Stop], now: DayNow, *, whole: bool = False
) -> _Ahead:
    """What the stops ahead take. ``whole``: the route is of the new plan, with nothing of it behind."""
    truck, state = operation.trucks.get(route.truck_id), now.trucks.get(route.truck_id)
    if truck is None or not (stops or whole):
        return _Ahead()
    out = state is not None and state.status in ("working", "out")
    legs = stops if whole or not out else stops[1:]
    distance_m = sum(stop.leg.distance_m for stop in legs)
    standing = (route.stops[0], *stops) if whole else stops
    fuel_l = sum(stop.leg.fuel_l for stop in legs) + sum(_idle_l(truck, stop) for stop in standing)
    work_s = (route.end - (now.now if out else route.start)).total_seconds()
    costs = operation.cost
    return _Ahead(
        work_s=max(0.0, work_s),
        distance_m=distance_m,
        fuel_l=fuel_l,
        volume_l=sum(pour.volume_l for stop in stops for pour in stop.pour),
        cost=_wages(operation, truck, state if out else None, max(0.0, work_s))
        + fuel_l * costs.fuel_per_l
        + distance_m / 1000.0 * costs.vehicle_per_km,
    )


def _idle_l(truck: Truck, stop: Stop) -> float:
    """Fuel for the pump at a stand."""
    tanks = [*(pour.tank_id for pour in stop.pour), *(fill.tank_id for fill in stop.fill)]
    pumped = any(tank is not None for tank in tanks)
    return truck.idle_l_per_h * (stop.leave - stop.begin).total_seconds() / 3600.0 if pumped else 0.0


def _wages(operation: Operation, truck: Truck, state: TruckNow | None, work_s: float) -> float:
    """Wages of a crew for work that is ahead, at the overtime rate where the day is long by then."""
    costs, worked_s = operation.cost, float(state.worked_s) if state else 0.0
    ordinary_s = max(0.0, operation.shift.max_s - worked_s)
    overtime_s = max(0.0, work_s - ordinary_s)
    extra = max(0.0, costs.overtime_per_h - costs.labor_per_h)
    return (work_s * costs.labor_per_h + overtime_s * extra) / 3600.0 * truck.crew


def _sum(parts: Sequence[_Ahead]) -> _Ahead:
    return _Ahead(
        sum(part.work_s for part in parts),
        sum(part.distance_m for part in parts),
        sum(part.fuel_l for part in parts),
        sum(part.volume_l for part in parts),
        sum(part.cost for part in parts),
    )
