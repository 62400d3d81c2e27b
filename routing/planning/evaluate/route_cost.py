"""What a route uses and costs, by its parts."""

from __future__ import annotations

from dataclasses import dataclass

from routing.planning.evaluate.route_rules import rules_of
from routing.planning.evaluate.rules import cost
from routing.planning.problem.problem import Problem, Stops


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


def account(problem: Problem, truck: int, stops: Stops) -> Account:
    """Price a route without fault. A truck that stays at its depot costs nothing."""
    rules = rules_of(problem)
    if (not stops and not problem.trucks[truck].on_the_clock) or rules.time(truck, stops):
        return Account(0.0, 0, 0.0, 0.0, 0.0)
    cost.route_cost(rules.tables, rules.scratch, truck, stops, len(stops))  # type: ignore[arg-type]
    money = rules.scratch.money[0]
    return Account(money.fuel_l, money.overtime_s, money.labor, money.fuel, money.vehicle)


def leg_fuel_l(problem: Problem, truck: int, distance_m: int, gross_g: float, climb_m: int = 0) -> float:
    """Litres for one leg driven at a gross mass, with what lifts the truck."""
    return cost.leg_fuel_l(rules_of(problem).tables, truck, distance_m, climb_m, gross_g)
