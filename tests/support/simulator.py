"""Time a given sequence of steps into a plan whose every figure is right: a fixture, not a planner."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date

from routing.domain.fleet import Truck
from routing.domain.operation import Operation, place_key
from routing.domain.plan import (
    Aboard,
    AuditRecord,
    Bound,
    Cost,
    Engine,
    Fill,
    Objective,
    Plan,
    PlanLeg,
    Pour,
    Route,
    RouteTotals,
    Stop,
    TankState,
    Totals,
    Unserved,
    Warning_,
)
from routing.domain.travel import Travel
from routing.need.urgency import unfed_value_per_colony
from routing.planning.plan.cautions import plan_cautions

__all__ = ["End", "Feed", "Fill", "Load", "Pour", "Rest", "Step", "Wash", "build_plan", "drive"]


@dataclass(frozen=True)
class Load:
    """Load at a depot: the start of the route when it comes first, a refill otherwise."""

    depot_id: str
    fill: tuple[Fill, ...] = ()


@dataclass(frozen=True)
class Feed:
    """Feed a yard."""

    yard_id: str
    pour: tuple[Pour, ...]


@dataclass(frozen=True)
class Rest:
    """Take the break where the truck stands; ``seconds`` None: as long as the settings ask."""

    seconds: int | None = None


@dataclass(frozen=True)
class Wash:
    """Wash down truck and gear."""

    depot_id: str


@dataclass(frozen=True)
class End:
    """Drive to the depot where the route ends."""

    depot_id: str


Step = Load | Feed | Rest | Wash | End


@dataclass
class _State:
    """Where the truck is and what it carries, as the day goes on."""

    operation: Operation
    travel: Travel
    day: date
    truck: Truck
    now_s: int
    key: str = ""
    tanks: dict[str, TankState] = field(default_factory=dict)
    pails_full: int = 0
    pails_empty: int = 0
    pail_kg: float = 0.0
    stops: list[Stop] = field(default_factory=list)

    def gross_kg(self) -> float:
        syrups = self.operation.syrups
        kg = self.truck.tare_kg + self.pail_kg
        for tank in self.tanks.values():
            if tank.syrup_id:
                kg += tank.volume_l * (syrups[tank.syrup_id].density_kg_per_l or 0.0)
        return kg + (self.pails_full + self.pails_empty) * self.operation.work.pail_kg


def drive(
    operation: Operation, travel: Travel, day: date, truck_id: str, start_s: int, steps: list[Step]
) -> Route:
    """One truck's route through the steps, leaving the start depot's gate at ``start_s`` to load."""
    truck = operation.trucks[truck_id]
    state = _State(operation, travel, day, truck, start_s)
    for tank in truck.tanks:
        held = (tank.syrup_id or operation.feeding.syrup_id) if tank.level_l > 0 else None
        state.tanks[tank.tank_id] = TankState(held, tank.level_l)
    for step in steps:
        _take(state, step)
    stops = tuple(state.stops)
    return Route(truck_id, stops[0].begin, stops[-1].leave, _route_totals(operation, truck, stops), stops)


def _take(state: _State, step: Step) -> None:
    if isinstance(step, Rest):
        seconds = state.operation.shift.break_s if step.seconds is None else step.seconds
        _halt(state, "break", state.key, seconds)
    elif isinstance(step, Feed):
        _feed(state, step)
    elif isinstance(step, Load):
        _load(state, step)
    elif isinstance(step, Wash):
        if state.operation.depots[step.depot_id].base:
            state.pails_empty = 0
        _halt(state, "wash", place_key("depot", step.depot_id), state.operation.work.wash_s)
    else:
        _halt(state, "end", place_key("depot", step.depot_id), 0)


def _feed(state: _State, step: Feed) -> None:
    op, yard = state.operation, state.operation.yards[step.yard_id]
    hives_s = sum(p.colonies * op.feeders[p.feeder_id].service_s for p in step.pour)
    hives_s /= 1 + (state.truck.crew > 1) * op.work.second_pair + (state.truck.crew > 2) * op.work.third_pair
    pumped_l = sum(p.volume_l for p in step.pour if p.tank_id)
    pump_s = pumped_l / state.truck.pump_l_per_s if state.truck.pump_l_per_s else 0.0
    seconds = math.ceil(yard.setup_s + max(hives_s, pump_s))
    leg, arrive_s = _leg(state, place_key("yard", yard.yard_id))
    begin_s = arrive_s
    if yard.windows:
        openings = op.clock(state.day).openings(yard.windows, arrive_s, arrive_s + 86_400)
        begin_s = next(max(arrive_s, a) for a, b in openings if max(arrive_s, a) + seconds <= b)
    for p in step.pour:
        _pour(state, p, keep_pails=yard.health.value == "quarantine")
    _stand(state, "yard", leg, (arrive_s, begin_s, begin_s + seconds), pour=step.pour)


def _pour(state: _State, p: Pour, keep_pails: bool) -> None:
    if p.tank_id is None:
        state.pails_full -= p.pails
        state.pails_empty += 0 if keep_pails else p.pails
        state.pail_kg -= p.volume_l * (state.operation.syrups[p.syrup_id].density_kg_per_l or 0.0)
        return
    left = round(state.tanks[p.tank_id].volume_l - p.volume_l, 6)
    state.tanks[p.tank_id] = TankState(p.syrup_id if left > 0 else None, left)


def _load(state: _State, step: Load) -> None:
    op, depot = state.operation, state.operation.depots[step.depot_id]
    first = not state.stops
    leg, arrive_s = _leg(state, place_key("depot", depot.depot_id))
    if depot.base:
        state.pails_empty = 0
    seconds = float(depot.setup_s) if step.fill or not first else 0.0
    for f in step.fill:
        stock = depot.stock_of(f.syrup_id)
        assert stock is not None
        seconds += f.volume_l / stock.fill_l_per_s + f.pails * op.work.pail_load_s
        if f.tank_id is None:
            state.pails_full += f.pails
            state.pail_kg += f.volume_l * (op.syrups[f.syrup_id].density_kg_per_l or 0.0)
        else:
            level = round(state.tanks[f.tank_id].volume_l + f.volume_l, 6)
            state.tanks[f.tank_id] = TankState(f.syrup_id, level)
    times = (arrive_s, arrive_s, arrive_s + math.ceil(seconds))
    _stand(state, "start" if first else "refill", leg, times, fill=step.fill)


def _halt(state: _State, kind: str, key: str, seconds: int) -> None:
    leg, arrive_s = _leg(state, key)
    _stand(state, kind, leg, (arrive_s, arrive_s, arrive_s + seconds))


def _leg(state: _State, key: str) -> tuple[PlanLeg, int]:
    """Drive to a place: the leg and the time of arrival. Nothing is driven to the first stop."""
    origin, state.key = state.key or key, key
    if origin == key:
        return PlanLeg(0, 0, 0.0), state.now_s
    leg = state.travel.leg(state.truck.truck_id, origin, key)
    truck = state.truck
    share = (state.gross_kg() - truck.tare_kg) / (truck.gvwr_kg - truck.tare_kg)
    rate = truck.fuel_empty_l_per_km + share * (truck.fuel_full_l_per_km - truck.fuel_empty_l_per_km)
    roads = state.operation.roads
    lifted_j = state.gross_kg() * 9.80665 * leg.climb_m
    fuel_l = leg.distance_m / 1000 * rate + lifted_j / (roads.climb_efficiency * roads.fuel_mj_per_l * 1e6)
    return (
        PlanLeg(leg.distance_m, leg.drive_s, fuel_l, leg.geometry, leg.climb_m),
        state.now_s + leg.drive_s,
    )


def _stand(
    state: _State, kind: str, leg: PlanLeg, times: tuple[int, int, int],
    pour: tuple[Pour, ...] = (), fill: tuple[Fill, ...] = (),
) -> None:  # fmt: skip
    clock = state.operation.clock(state.day)
    position = state.operation.positions()[state.key]
    arrive, begin, leave = (clock.at(t) for t in times)
    after = Aboard(dict(state.tanks), state.pails_full, state.pails_empty, state.gross_kg())
    state.now_s = times[2]
    state.stops.append(
        Stop(
            len(state.stops), kind, state.key.partition(":")[2], position.lat, position.lon,  # type: ignore[arg-type]
            arrive, begin, leave, leg, pour, fill, after, starving=kind == "yard" and _starves(state),
        )
    )  # fmt: skip


def _starves(state: _State) -> bool:
    """Whether the worst group of the yard where the truck stands has too few days of stores."""
    op, yard_id = state.operation, state.key.partition(":")[2]
    use = op.feeding.daily_use_kg
    days = [
        max(0.0, (g.stores.stores_kg or 0.0) - use * (state.day - g.date).days) / use
        for g in op.groups_of(yard_id)
    ]
    return min(days) < op.feeding.starving_days


def _route_totals(operation: Operation, truck: Truck, stops: tuple[Stop, ...]) -> RouteTotals:
    shift, cost = operation.shift, operation.cost
    work_s = _seconds(stops[0].begin, stops[-1].leave)
    overtime_s = max(0, work_s - shift.max_s)
    fuel_l = sum(s.leg.fuel_l for s in stops)
    for s in stops:
        if any(row.tank_id for row in (*s.pour, *s.fill)):
            fuel_l += truck.idle_l_per_h * _seconds(s.begin, s.leave) / 3600
    distance_m = sum(s.leg.distance_m for s in stops)
    poured = [p for s in stops for p in s.pour]
    extra = max(0.0, cost.overtime_per_h - cost.labor_per_h)
    labor = (work_s * cost.labor_per_h + overtime_s * extra) / 3600 * truck.crew
    vehicle = distance_m / 1000 * cost.vehicle_per_km + truck.fixed_cost
    syrup = sum(p.volume_l * (operation.syrups[p.syrup_id].price_per_l or 0.0) for p in poured)
    fuel = fuel_l * cost.fuel_per_l
    return RouteTotals(
        distance_m=distance_m,
        drive_s=sum(s.leg.drive_s for s in stops),
        work_s=work_s,
        wait_s=sum(_seconds(s.arrive, s.begin) for s in stops),
        break_s=sum(_seconds(s.begin, s.leave) for s in stops if s.kind == "break"),
        overtime_s=overtime_s,
        fuel_l=fuel_l,
        co2_kg=fuel_l * cost.co2_kg_per_l,
        cost=Cost(labor, fuel, vehicle, syrup, labor + fuel + vehicle + syrup),
        served_yards=len({s.place_id for s in stops if s.pour}),
        served_colonies=sum(p.colonies for p in poured),
        volume_l=sum(p.volume_l for p in poured),
    )


def _seconds(start: object, end: object) -> int:
    return round((end - start).total_seconds())  # type: ignore[operator]


def build_plan(
    operation: Operation, day: date, routes: tuple[Route, ...], unserved: tuple[Unserved, ...],
    warnings: tuple[Warning_, ...],
) -> Plan:  # fmt: skip
    """The plan of a day made of timed routes, with its totals and the cautions it calls for."""
    plan = Plan(
        plan_id="0123456789abcdef",
        operation=operation.name,
        date=day,
        timezone=operation.timezone,
        seed=1,
        engine=Engine("by hand", "1", None, 0),
        assumptions=operation.assumptions(),
        totals=_plan_totals(operation, routes, unserved),
        routes=routes,
        unserved=unserved,
        warnings=warnings,
        audit=AuditRecord(True, ("by hand",)),
        units=operation.units,
        currency=operation.currency,
        travel="straight",
        trucks=tuple(operation.trucks),
    )
    return plan_cautions(operation, (), plan)


def _plan_totals(operation: Operation, routes: tuple[Route, ...], unserved: tuple[Unserved, ...]) -> Totals:
    each = [route.totals for route in routes]
    cost = Cost(
        *(sum(getattr(t.cost, f) for t in each) for f in ("labor", "fuel", "vehicle", "syrup", "total"))
    )
    short = {u.yard_id for u in unserved if u.volume_l > 0}
    fed = {s.place_id for r in routes for s in r.stops if s.pour} - short
    work = [t.work_s for t in each]
    parts = {
        "labor": cost.labor, "fuel": cost.fuel, "vehicle": cost.vehicle, "syrup": cost.syrup,
        "unserved": sum(
            unfed_value_per_colony(operation, u.yard_id, u.days_of_stores) * u.colonies + u.syrup_cost
            for u in unserved
            if u.volume_l > 0
        ),
        "balance": operation.cost.balance_per_h * (max(work) - min(work)) / 3600 if len(work) > 1 else 0.0,
    }  # fmt: skip
    total = sum(parts.values())
    names = ("distance_m", "drive_s", "work_s", "wait_s", "break_s", "overtime_s", "fuel_l", "co2_kg")
    return Totals(
        **{name: sum(getattr(t, name) for t in each) for name in names},
        cost=cost,
        served_yards=len(fed),
        served_colonies=sum(t.served_colonies for t in each),
        volume_l=sum(t.volume_l for t in each),
        objective=Objective(total, parts),
        bound=Bound(0.9 * total, 0.1, False, "by hand"),
    )
