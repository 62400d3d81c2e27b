"""Price a timed route: wages, overtime, fuel by load, wear.

Fuel is linear in payload between empty and full (Xiao, Zhao, Kaku & Xu, "Development of a fuel consumption
optimization model for the capacitated vehicle routing problem", Computers & OR 39(7):1419, 2012).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.planning.evaluate.schedule import Timing
from routing.planning.problem.problem import Problem, Stops, TruckSpec


@dataclass(frozen=True, slots=True)
class Account:
    """What one route uses (litres, seconds) and costs (currency)."""

    fuel_l: float
    overtime_s: int
    labor: float
    fuel: float
    vehicle: float

    @property
    def total(self) -> float:
        """Money of the route."""
        return self.labor + self.fuel + self.vehicle


def leg_fuel_l(spec: TruckSpec, distance_m: int, gross_g: float, climb_m: int = 0) -> float:
    """Litres for one leg driven at a gross mass, with what lifts the truck."""
    flat_l = distance_m * (spec.fuel_empty + spec.fuel_per_g * (gross_g - spec.tare_g))
    return flat_l if spec.climb is None else flat_l + spec.climb.fuel_l(climb_m, gross_g)


def idle_s(problem: Problem, stops: Stops, timing: Timing) -> int:
    """Seconds the engine runs at a stand to drive the pump: loading and pouring, not waits or washing."""
    seconds = 0
    for i in range(len(stops) + 1):
        loading = timing.loads.loading.get(i)
        if loading is None:
            if any(problem.visits[stops[i - 1]].bulk_ml):
                seconds += timing.service_s[i]
        elif any(loading.bulk_ml):
            washing = problem.wash_s if i in timing.loads.washes else 0
            seconds += timing.service_s[i] - washing
    return seconds


def account(problem: Problem, truck: int, stops: Stops, timing: Timing) -> Account:
    """Price a route without fault. A truck that stays at its depot costs nothing."""
    if not stops and not problem.trucks[truck].on_the_clock:
        return Account(0.0, 0, 0.0, 0.0, 0.0)
    spec = problem.trucks[truck]
    gross = timing.loads.gross_g
    fuel_l = sum(leg_fuel_l(spec, d, gross[i - 1]) for i, d in enumerate(timing.distance_m) if d)
    if spec.climb is not None:
        fuel_l += sum(spec.climb.fuel_l(h, gross[i - 1]) for i, h in enumerate(timing.climb_m) if h)
    fuel_l += spec.idle_l_per_s * idle_s(problem, stops, timing)
    overtime = max(0, timing.work_s - spec.ordinary_s)
    return Account(
        fuel_l=fuel_l,
        overtime_s=overtime,
        labor=timing.work_s * spec.per_s + overtime * spec.overtime_per_s,
        fuel=fuel_l * spec.fuel_price,
        vehicle=sum(timing.distance_m) * spec.per_m + spec.fixed,
    )


def unserved_value(problem: Problem, unserved: Sequence[int]) -> float:
    """What the visits left out are worth."""
    return sum(problem.visits[i].value for i in unserved)
