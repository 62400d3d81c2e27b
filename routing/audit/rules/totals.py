"""Rules on sums: every total of a route and of the plan, worked out again from its stops."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

from routing.audit.evidence.book import Book, Replay, rows_of
from routing.audit.evidence.stores import worth_of_feeding
from routing.audit.rules.rule import (
    FUEL_L,
    MONEY,
    VOLUME_L,
    Breach,
    PlanRule,
    RouteRule,
    differs,
    money_differs,
)
from routing.domain.plan import Cost, RouteTotals

PARTS = ("labor", "fuel", "vehicle", "syrup", "unserved", "balance")
GAP = 1e-3

TOLERANCES = {
    "distance_m": 0.0, "drive_s": 0.0, "work_s": 0.0, "wait_s": 0.0, "break_s": 0.0, "overtime_s": 0.0,
    "fuel_l": FUEL_L, "co2_kg": 3 * FUEL_L, "served_colonies": 0.0, "volume_l": VOLUME_L,
}  # fmt: skip


@dataclass
class Sums:
    """Totals worked out again, of one route or of several added up."""

    distance_m: int = 0
    drive_s: int = 0
    work_s: int = 0
    wait_s: int = 0
    break_s: int = 0
    overtime_s: int = 0
    fuel_l: float = 0.0
    co2_kg: float = 0.0
    served_colonies: int = 0
    volume_l: float = 0.0
    labor: float = 0.0
    fuel: float = 0.0
    vehicle: float = 0.0
    syrup: float = 0.0

    @property
    def total(self) -> float:
        """All costs together."""
        return self.labor + self.fuel + self.vehicle + self.syrup


def route_sums(replay: Replay) -> Sums | None:
    """The totals of one route, None when its times cannot be read."""
    span = replay.span()
    if span is None or any(halt.times is None for halt in replay.halts):
        return None
    op, truck = replay.book.operation, replay.truck
    sums = Sums(work_s=span[1] - span[0])
    ordinary_s = max(0, op.shift.max_s - (truck.underway.worked_s if truck.underway else 0))
    sums.overtime_s = max(0, sums.work_s - ordinary_s)
    for halt, t in replay.timed():
        sums.distance_m += halt.distance_m or 0
        sums.drive_s += halt.drive_s or 0
        sums.wait_s += t.begin_s - t.arrive_s
        stands_s = t.leave_s - t.begin_s
        sums.break_s += stands_s if halt.stop.kind == "break" else 0
        sums.fuel_l += replay.leg_fuel_l(halt)
        if any(row.tank_id is not None for row in rows_of(halt.stop)):
            sums.fuel_l += truck.idle_l_per_h * stands_s / 3600.0
        for pour in halt.stop.pour:
            sums.volume_l += pour.volume_l
            sums.served_colonies += pour.colonies
            sums.syrup += pour.volume_l * replay.book.price(pour.syrup_id)
    _price(replay, sums)
    return sums


def _price(replay: Replay, sums: Sums) -> None:
    cost, truck = replay.book.operation.cost, replay.truck
    more_per_h = max(0.0, cost.overtime_per_h - cost.labor_per_h)
    hours, over = sums.work_s / 3600.0, sums.overtime_s / 3600.0
    sums.labor = (hours * cost.labor_per_h + over * more_per_h) * truck.crew
    sums.fuel = sums.fuel_l * cost.fuel_per_l
    fixed = 0.0 if truck.underway else truck.fixed_cost
    sums.vehicle = sums.distance_m / 1000.0 * cost.vehicle_per_km + fixed
    sums.co2_kg = sums.fuel_l * cost.co2_kg_per_l


def plan_sums(book: Book) -> Sums | None:
    """The routes' totals added up, None when one cannot be had."""
    total = Sums()
    for replay in book.routes:
        sums = route_sums(replay)
        if sums is None:
            return None
        for f in fields(Sums):
            setattr(total, f.name, getattr(total, f.name) + getattr(sums, f.name))
    return total


def route_totals(replay: Replay) -> Iterator[Breach]:
    """The totals of a route are the sums over its stops."""
    sums = route_sums(replay)
    if sums is not None:
        yield from (Breach(text) for text in _totals_off(replay.route.totals, sums))


def plan_totals(book: Book) -> Iterator[Breach]:
    """The totals of the plan are the sums over its routes."""
    sums = plan_sums(book)
    if sums is not None:
        yield from (Breach(text) for text in _totals_off(book.plan.totals, sums))


def _totals_off(stated: RouteTotals, own: Sums) -> Iterator[str]:
    for name, tolerance in TOLERANCES.items():
        given, found = getattr(stated, name), getattr(own, name)
        if differs(given, found, tolerance):
            yield f"{name} is stated as {given:.10g}; it is {found:.10g}"


def route_cost(replay: Replay) -> Iterator[Breach]:
    """The costs of a route follow from its hours, fuel, distance and syrup."""
    sums = route_sums(replay)
    if sums is not None:
        yield from (Breach(text) for text in _cost_off(replay.route.totals.cost, sums))


def plan_cost(book: Book) -> Iterator[Breach]:
    """The costs of the plan are those of its routes."""
    sums = plan_sums(book)
    if sums is not None:
        yield from (Breach(text) for text in _cost_off(book.plan.totals.cost, sums))


def _cost_off(stated: Cost, own: Sums) -> Iterator[str]:
    for f in fields(Cost):
        given, found = getattr(stated, f.name), getattr(own, f.name)
        if money_differs(given, found):
            yield f"cost of {f.name} is stated as {given:.2f}; it is {found:.2f}"


def served_yards(book: Book) -> Iterator[Breach]:
    """Yards served are those fed in full; on a route, those that it feeds."""
    short = {left.yard_id for left in book.plan.unserved if left.volume_l > 0}
    everywhere: set[str] = set()
    for replay in book.routes:
        fed = {halt.stop.place_id for halt in replay.halts if halt.stop.pour and halt.yard}
        everywhere |= fed
        stated = replay.route.totals.served_yards
        if stated != len(fed):
            text = f"{stated} yards are stated as served by the route; it feeds {len(fed)}"
            yield Breach(text, truck_id=replay.truck.truck_id)
    if book.plan.totals.served_yards != len(everywhere - short):
        stated = book.plan.totals.served_yards
        yield Breach(f"{stated} yards are stated as served; {len(everywhere - short)} are fed in full")


def objective(book: Book) -> Iterator[Breach]:
    """What the plan was judged by is the sum of its parts, each worked out again.

    A colony left counts for more the sooner its stores end, and by the priority of its yard.
    """
    sums, stated = plan_sums(book), book.plan.totals.objective
    if sums is None:
        return
    cost = book.operation.cost
    work = [span[1] - span[0] for span in (r.span() for r in book.routes) if span is not None]
    left = [u for u in book.plan.unserved if u.volume_l > 0]
    own = {name: getattr(sums, name) for name in ("labor", "fuel", "vehicle", "syrup")}
    own["unserved"] = sum(
        worth_of_feeding(book, u.yard_id, u.days_of_stores) * u.colonies + u.syrup_cost
        for u in left
        if u.yard_id in book.operation.yards
    )
    own["balance"] = cost.balance_per_h * (max(work) - min(work)) / 3600.0 if len(work) > 1 else 0.0
    for name in sorted(stated.parts.keys() - own.keys()):
        yield Breach(f"no part of the objective is called {name!r}")
    for name in PARTS:
        given = stated.parts.get(name, 0.0)
        if money_differs(given, own[name]):
            yield Breach(f"the objective's part {name} is stated as {given:.2f}; it is {own[name]:.2f}")
    if money_differs(stated.total, sum(own.values())):
        yield Breach(f"the objective is stated as {stated.total:.2f}; it is {sum(own.values()):.2f}")


def bound(book: Book) -> Iterator[Breach]:
    """A lower bound is not above the plan it bounds, and its gap is what lies between."""
    totals = book.plan.totals
    if totals.bound is None:
        return
    total, low = totals.objective.total, totals.bound.objective
    if low > total + MONEY + 1e-6 * abs(total):
        yield Breach(f"the bound {low:.2f} is above the objective {total:.2f}")
    gap = (total - low) / total if total > 0 else 0.0
    if differs(totals.bound.gap, gap, GAP):
        yield Breach(f"the gap is stated as {totals.bound.gap:.4f}; it is {gap:.4f}")
    if totals.bound.proved and differs(gap, 0.0, GAP):
        yield Breach(f"the plan is said to be proved with a gap of {gap:.4f}")


RULES = (
    RouteRule("route_totals", "Every route's distance, hours, fuel, CO2 and volume add up.", route_totals),
    PlanRule("plan_totals", "The plan's distance, hours, fuel, CO2 and volume add up.", plan_totals),
    RouteRule("route_cost", "Every route's costs follow from its hours, fuel and distance.", route_cost),
    PlanRule("plan_cost", "The plan's costs add up.", plan_cost),
    PlanRule("served_yards", "Yards counted as served are those fed.", served_yards),
    PlanRule("objective", "The objective is the sum of its parts, each recomputed.", objective),
    PlanRule("bound", "The lower bound, taken as it is stated, is not above the objective.", bound),
)
