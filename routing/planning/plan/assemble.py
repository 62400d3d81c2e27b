"""Write a solution out as a plan: stops with times, pours, fills, levels and mass, and all totals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from routing.domain.operation import place_key
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
    StopKind,
    Totals,
    Unserved,
    Warning_,
)
from routing.need.urgency import unfed_value_per_colony
from routing.planning.evaluate.route_cost import Account, account, leg_fuel_l
from routing.planning.evaluate.schedule import Timing, time_route
from routing.planning.plan.latest import latest_arrivals
from routing.planning.plan.tank_levels import TankLevels
from routing.planning.problem.build import Day
from routing.planning.problem.frame import whole_ml
from routing.planning.problem.problem import Solution, Stops


def write_plan(
    day: Day,
    solution: Solution,
    unserved: Sequence[Unserved],
    engine: Engine,
    seed: int,
    bound: Bound | None = None,
    warnings: Sequence[Warning_] = (),
) -> Plan:
    """The plan of a solution, without id, audit and notes."""
    op = day.operation
    writers = [_RouteWriter(day, k, stops) for k, stops in enumerate(solution.routes)]
    routes = tuple(writer.write() for writer in writers if writer.drives)
    return Plan(
        plan_id="",
        operation=op.name,
        date=day.date,
        timezone=op.timezone,
        seed=seed,
        engine=engine,
        assumptions={**op.assumptions(), **day.travel.measured},
        totals=_totals(day, routes, unserved, bound),
        routes=routes,
        unserved=tuple(unserved),
        warnings=tuple(warnings),
        audit=AuditRecord(False, ()),
        units=op.units,
        currency=op.currency,
        travel=day.travel.provenance.note,
        trucks=tuple(truck.truck_id for truck in day.trucks),
    )


class _RouteWriter:
    """Writes the stops of one truck."""

    def __init__(self, day: Day, truck: int, stops: Stops) -> None:
        self.day, self.problem, self.k, self.stops = day, day.problem, truck, stops
        self.truck, self.spec = day.trucks[truck], day.problem.trucks[truck]
        self.timing: Timing = time_route(self.problem, truck, stops)
        fault = self.timing.fault
        self.latest = [] if fault else latest_arrivals(self.problem, truck, stops, self.timing)
        self.clock = day.operation.clock(day.date)
        self.tanks = TankLevels(
            [
                (tank.tank_id, name, whole_ml(tank.capacity_l), whole_ml(tank.level_l))
                for tank, name in zip(self.truck.tanks, day.tank_syrups[truck], strict=True)
            ]
        )
        # A truck in mid-day without a stop left drives home, where that can be done within the rules.
        home = self.spec.on_the_clock and not self.timing.fault and self.timing.work_s > 0
        self.drives = bool(stops) or home
        self.written: list[Stop] = []
        self.at = place_key("depot", self.truck.start_depot)

    def write(self) -> Route:
        """All stops, and the totals."""
        self._depot_call(0, "start", self.truck.start_depot)
        for i, stop in enumerate(self.stops, start=1):
            if stop >= 0:
                self._yard(i, stop)
            else:
                self._depot_call(i, "refill", self.day.depots[-1 - stop].depot_id)
        last = len(self.stops) + 1
        self._stop(last, "end", place_key("depot", self.truck.end_depot), self.timing.begin[last])
        money = account(self.problem, self.k, self.stops)
        return Route(
            truck_id=self.truck.truck_id,
            start=self.written[0].arrive,
            end=self.written[-1].leave,
            totals=_route_totals(self.day, self.written, self.timing, money, self._breaks()),
            stops=tuple(self.written),
        )

    def _breaks(self) -> int:
        return sum(self.timing.pauses)

    def _time(self, seconds: int) -> datetime:
        return self.clock.at(seconds)

    def _leg(self, i: int, key: str) -> PlanLeg:
        """The drive to point i."""
        if i == 0 or (key == self.at and not self.timing.distance_m[i]):
            return PlanLeg(0, 0, 0.0)
        leg = self.day.travel.leg(self.truck.truck_id, self.at, key)
        fuel = leg_fuel_l(self.problem, self.k, leg.distance_m, self.timing.loads.gross_g[i - 1], leg.climb_m)
        line = tuple((round(lon, 6), round(lat, 6)) for lon, lat in leg.geometry)
        return PlanLeg(leg.distance_m, leg.drive_s, round(fuel, 6), line, leg.climb_m)

    def _aboard(self, i: int) -> Aboard:
        loads = self.timing.loads
        point = min(i, len(loads.gross_g) - 1)
        return Aboard(
            self.tanks.state(),
            loads.pails_full[point],
            loads.pails_empty[point],
            round(loads.gross_g[point] / 1000, 3),
        )

    def _stop(
        self,
        i: int,
        kind: StopKind,
        key: str,
        leave_s: int,
        *,
        pour: Sequence[Pour] = (),
        fill: Sequence[Fill] = (),
        starving: bool = False,
    ) -> None:
        lon, lat = self.day.travel.positions[self.day.travel.index(key)]
        self.written.append(
            Stop(
                seq=len(self.written),
                kind=kind,
                place_id=key.split(":", 1)[1],
                lat=round(lat, 6),
                lon=round(lon, 6),
                arrive=self._time(self.timing.arrive[i]),
                begin=self._time(self.timing.begin[i]),
                leave=self._time(leave_s),
                leg=self._leg(i, key),
                pour=tuple(pour),
                fill=tuple(fill),
                after=self._aboard(i),
                starving=starving,
                latest_arrive=self._time(self.latest[i]) if i and self.latest else None,
            )
        )
        self.at = key

    def _stay(self, i: int, kind: StopKind, begin_s: int, leave_s: int) -> None:
        """A stop at the place where the truck already stands: a wash or a break."""
        before = self.written[-1]
        begin = self._time(begin_s)
        self.written.append(
            replace(
                before,
                seq=len(self.written),
                kind=kind,
                arrive=begin,
                begin=begin,
                leave=self._time(leave_s),
                leg=PlanLeg(0, 0, 0.0),
                pour=(),
                fill=(),
                starving=False,
                latest_arrive=None,
            )
        )

    def _break(self, i: int) -> None:
        if rest := self.timing.pauses[i]:
            self._stay(i, "break", self.timing.leave[i], self.timing.leave[i] + rest)

    def _depot_call(self, i: int, kind: StopKind, depot_id: str) -> None:
        loading = self.timing.loads.loading[i]
        washes = i in self.timing.loads.washes
        fills: list[Fill] = []
        for s, syrup in enumerate(self.day.syrups):
            if loading.bulk_ml[s]:
                fills += self.tanks.fill(syrup, loading.bulk_ml[s])
            if loading.pails[s]:
                fills.append(Fill(syrup, loading.pail_ml[s] / 1000, None, loading.pails[s]))
        leave = self.timing.leave[i]
        key = place_key("depot", depot_id)
        if washes and not fills and kind == "refill":
            self._stop(i, "wash", key, leave)
        else:
            self._stop(i, kind, key, leave - (self.problem.wash_s if washes else 0), fill=fills)
            if washes:
                self._stay(i, "wash", leave - self.problem.wash_s, leave)
        self._break(i)

    def _yard(self, i: int, visit: int) -> None:
        need, piece = self.day.pieces[visit]
        yard = self.day.operation.yards[need.yard_id]
        pours: list[Pour] = []
        for dose, colonies in piece:
            if dose.swapped:
                volume = round(dose.each_l * colonies, 3)
                pours.append(
                    Pour(dose.group, dose.feeder_id, dose.syrup_id, colonies, volume, None, colonies)
                )
            else:
                pours += self.tanks.pour(dose, colonies)
        key = place_key("yard", yard.yard_id)
        self._stop(i, "yard", key, self.timing.leave[i], pour=pours, starving=need.starving)
        self._break(i)


def _route_totals(
    day: Day, stops: Sequence[Stop], timing: Timing, money: Account, break_s: int
) -> RouteTotals:
    op = day.operation
    pours = [pour for stop in stops for pour in stop.pour]
    syrup = sum(pour.volume_l * (op.syrups[pour.syrup_id].price_per_l or 0.0) for pour in pours)
    waits = sum(round((stop.begin - stop.arrive).total_seconds()) for stop in stops)
    return RouteTotals(
        distance_m=sum(timing.distance_m),
        drive_s=sum(timing.drive_s),
        work_s=timing.work_s,
        wait_s=waits,
        break_s=break_s,
        overtime_s=money.overtime_s,
        fuel_l=money.fuel_l,
        co2_kg=money.fuel_l * op.cost.co2_kg_per_l,
        cost=Cost(money.labor, money.fuel, money.vehicle, syrup, money.total + syrup),
        served_yards=len({stop.place_id for stop in stops if stop.kind == "yard"}),
        served_colonies=sum(pour.colonies for pour in pours),
        volume_l=round(sum(pour.volume_l for pour in pours), 3),
    )


def _totals(day: Day, routes: Sequence[Route], unserved: Sequence[Unserved], bound: Bound | None) -> Totals:
    parts = [route.totals for route in routes]
    cost = Cost(
        *(
            sum(getattr(t.cost, name) for t in parts)
            for name in ("labor", "fuel", "vehicle", "syrup", "total")
        )
    )
    left = {u.yard_id for u in unserved}
    visited = {stop.place_id for route in routes for stop in route.stops if stop.kind == "yard"}
    return Totals(
        distance_m=sum(t.distance_m for t in parts),
        drive_s=sum(t.drive_s for t in parts),
        work_s=sum(t.work_s for t in parts),
        wait_s=sum(t.wait_s for t in parts),
        break_s=sum(t.break_s for t in parts),
        overtime_s=sum(t.overtime_s for t in parts),
        fuel_l=sum(t.fuel_l for t in parts),
        co2_kg=sum(t.co2_kg for t in parts),
        cost=cost,
        served_yards=len(visited - left),
        served_colonies=sum(t.served_colonies for t in parts),
        volume_l=round(sum(t.volume_l for t in parts), 3),
        objective=_objective(day, parts, cost, unserved),
        bound=bound,
    )


def _objective(day: Day, parts: Sequence[RouteTotals], cost: Cost, unserved: Sequence[Unserved]) -> Objective:
    rates = day.operation.cost
    work = [t.work_s for t in parts]
    spread = max(work) - min(work) if len(work) > 1 else 0
    named = {
        "labor": cost.labor,
        "fuel": cost.fuel,
        "vehicle": cost.vehicle,
        "syrup": cost.syrup,
        "unserved": sum(
            unfed_value_per_colony(day.operation, u.yard_id, u.days_of_stores) * u.colonies + u.syrup_cost
            for u in unserved
            if u.volume_l > 0
        ),
        "balance": rates.balance_per_h * spread / 3600,
    }
    return Objective(sum(named.values()), named)
