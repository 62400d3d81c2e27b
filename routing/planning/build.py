"""Turn an operation, its travel table and the day's need into problems for the engines.

One problem for each sensible choice of syrups in the tanks. Rounding is against us: demand and time up,
capacity down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, inf

from routing.domain.clock import DayClock
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation, place_key
from routing.domain.places import Depot, Health, Yard
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.planning.exact_tanks import TankChoice, assign_tanks
from routing.planning.problem import DepotSpec, Problem, Supply, TruckSpec, Visit
from routing.planning.split import Piece, split_doses

G = 1000.0
ML = 1000.0


@dataclass(frozen=True, eq=False)
class Day:
    """A problem, and what its numbers stand for.

    ``pieces[v]`` is the yard and the doses of visit v; ``tank_syrups[k]`` the syrup id of each tank of
    truck k.
    """

    operation: Operation
    travel: Travel
    date: date
    needs: tuple[YardNeed, ...]
    problem: Problem
    trucks: tuple[Truck, ...]
    depots: tuple[Depot, ...]
    syrups: tuple[str, ...]
    pieces: tuple[tuple[YardNeed, Piece], ...]
    tank_syrups: tuple[tuple[str, ...], ...]


def build_days(
    operation: Operation,
    travel: Travel,
    day: date,
    needs: Sequence[YardNeed],
    truck_ids: Sequence[str] | None = None,
) -> list[Day]:
    """The day as problems, one for each choice of syrups in the tanks, most promising first."""
    trucks = tuple(
        truck
        for truck in operation.trucks.values()
        if truck.available_on(day) and (truck_ids is None or truck.truck_id in truck_ids)
    )
    builder = _Builder(operation, travel, day, tuple(needs), trucks)
    return [builder.build(choice) for choice in builder.tank_choices()]


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


class _Builder:
    def __init__(
        self,
        operation: Operation,
        travel: Travel,
        day: date,
        needs: tuple[YardNeed, ...],
        trucks: tuple[Truck, ...],
    ) -> None:
        self.operation, self.travel, self.day, self.needs, self.trucks = operation, travel, day, needs, trucks
        self.clock: DayClock = operation.clock(day)
        asked = {dose.syrup_id for need in needs for dose in need.doses}
        aboard = {
            aboard_syrup(operation, tank) for truck in trucks for tank in truck.tanks if tank.level_l > 0
        }
        self.syrups = tuple(s for s in operation.syrups if s in asked | aboard)
        self.density = tuple(operation.syrups[s].density_kg_per_l or 0.0 for s in self.syrups)
        spans = [operation.shift_of(truck) for truck in trucks]
        self.earliest = min((self.clock.elapsed_s(w.start_s) for w in spans), default=0)
        self.latest = max((self.clock.elapsed_s(w.end_s) for w in spans), default=86_400)

    def tank_choices(self) -> list[tuple[tuple[str, ...], ...]]:
        """For each choice, the syrup of every tank of every truck."""
        number = {s: i for i, s in enumerate(self.syrups)}
        tanks = [(k, tank) for k, truck in enumerate(self.trucks) for tank in truck.tanks]
        if not self.syrups:
            return [tuple(tuple(tank.syrup_id or "" for tank in truck.tanks) for truck in self.trucks)]
        choices, demand = [], [0] * len(self.syrups)
        for k, tank in tanks:
            bound = aboard_syrup(self.operation, tank)
            free = tuple(range(len(self.syrups)))
            syrups = free if bound is None else ((number[bound],) if bound in number else free[:0])
            choices.append(TankChoice(k, floor(tank.capacity_l * ML), syrups))
        reach: dict[tuple[int, frozenset[int]], int] = {}
        for need in self.needs:
            trucks = access(self.trucks, self.operation.yards[need.yard_id])
            for dose in (d for d in need.doses if not d.swapped):
                s = number[dose.syrup_id]
                demand[s] += round(dose.volume_l * ML)
                reach[s, trucks] = reach.get((s, trucks), 0) + round(dose.volume_l * ML)
        usable = [c for c in choices if c.syrups]
        found = []
        for assignment in assign_tanks(usable, demand, reach):
            picked = iter(assignment)
            named = [
                self.syrups[next(picked)] if choice.syrups else (tank.syrup_id or "")
                for choice, (_, tank) in zip(choices, tanks, strict=True)
            ]
            by_truck = iter(named)
            found.append(tuple(tuple(next(by_truck) for _ in truck.tanks) for truck in self.trucks))
        return found

    def build(self, tank_syrups: tuple[tuple[str, ...], ...]) -> Day:
        """One problem for one choice of syrups in the tanks."""
        operation, travel = self.operation, self.travel
        specs = tuple(self._truck(k, names) for k, names in enumerate(tank_syrups))
        depots = tuple(operation.depots.values())
        pieces, visits = [], []
        for need in self.needs:
            for piece in self._split(need, specs):
                pieces.append((need, piece))
                visits.append(self._visit(need, piece))
        tables = [travel.matrix, *(travel.by_truck[t] for t in travel.by_truck)]
        problem = Problem(
            visits=tuple(visits),
            depots=tuple(map(self._depot, depots)),
            trucks=specs,
            distance_m=tuple(t.distance_m for t in tables),
            drive_s=tuple(t.drive_s for t in tables),
            density_g_ml=self.density,
            pail_g=ceil(operation.work.pail_kg * G),
            pail_load_s=operation.work.pail_load_s,
            wash_s=operation.work.wash_s,
            margin=operation.feeding.margin,
            balance_per_s=operation.cost.balance_per_h / 3600,
        )
        return Day(
            operation, travel, self.day, self.needs, problem, self.trucks, depots, self.syrups,
            tuple(pieces), tank_syrups,
        )  # fmt: skip

    def _truck(self, k: int, names: tuple[str, ...]) -> TruckSpec:
        truck, op = self.trucks[k], self.operation
        number = {d: i for i, d in enumerate(op.depots)}
        pairs = list(zip(truck.tanks, names, strict=True))
        shift, cost, window = op.shift, op.cost, op.shift_of(truck)
        capacity = tuple(sum(floor(t.capacity_l * ML) for t, name in pairs if name == s) for s in self.syrups)
        pails = any(dose.swapped for need in self.needs for dose in need.doses) and truck.pail_slots > 0
        tables = list(self.travel.by_truck)
        return TruckSpec(
            start=number[truck.start_depot],
            end=number[truck.end_depot],
            capacity_ml=capacity,
            level_ml=tuple(sum(floor(t.level_l * ML) for t, name in pairs if name == s) for s in self.syrups),
            pail_slots=truck.pail_slots,
            tare_g=ceil(truck.tare_kg * G),
            gross_g=floor(truck.gvwr_kg * G),
            earliest_s=self.clock.elapsed_s(window.start_s),
            latest_s=self.clock.elapsed_s(window.end_s),
            ordinary_s=shift.max_s,
            overtime_s=shift.overtime_s,
            driving_s=shift.max_driving_s,
            break_s=shift.break_s,
            break_after_s=shift.break_after_s,
            break_on_driving=shift.break_clock == "driving",
            per_m=cost.vehicle_per_km / 1000,
            per_s=truck.crew * cost.labor_per_h / 3600,
            overtime_per_s=truck.crew * max(0.0, cost.overtime_per_h - cost.labor_per_h) / 3600,
            fixed=truck.fixed_cost,
            fuel_price=cost.fuel_per_l,
            fuel_empty=truck.fuel_empty_l_per_km / 1000,
            fuel_per_g=(truck.fuel_full_l_per_km - truck.fuel_empty_l_per_km) / 1000 / (truck.payload_kg * G),
            idle_l_per_s=truck.idle_l_per_h / 3600,
            pump_ml_s=truck.pump_l_per_s * ML if truck.pump_l_per_s else None,
            matrix=1 + tables.index(truck.truck_id) if truck.truck_id in tables else 0,
            refill_depots=tuple(
                i for i, d in enumerate(op.depots.values()) if d.wash_down or self._gives(d, capacity, pails)
            ),
            name=truck.truck_id,
        )

    def _gives(self, depot: Depot, capacity_ml: tuple[int, ...], pails: bool) -> bool:
        """Whether a depot has anything that a truck can take."""
        held = [depot.stock_of(s) for s in self.syrups]
        some = [row is not None and row.on_hand_l != 0 for row in held]
        return any(
            has and (cap > 0 or (pails and depot.base)) for has, cap in zip(some, capacity_ml, strict=True)
        )

    def _depot(self, depot: Depot) -> DepotSpec:
        supplies: list[Supply | None] = []
        for s in self.syrups:
            row = depot.stock_of(s)
            if row is None or row.on_hand_l == 0:
                supplies.append(None)
                continue
            stock = None if row.on_hand_l is None else floor(row.on_hand_l * ML)
            opens = self.clock.elapsed_s(row.from_s) if row.from_s else -(10**9)
            supplies.append(Supply(row.fill_l_per_s * ML, stock, opens))
        return DepotSpec(
            place=self.travel.index(place_key("depot", depot.depot_id)),
            supplies=tuple(supplies),
            windows=self.clock.openings(depot.windows, self.earliest, self.latest),
            leave_by=self.operation.shift.leave_by_window,
            setup_s=depot.setup_s,
            pails=depot.base,
            wash=depot.wash_down,
            name=depot.depot_id,
        )

    def _rank(self, yard: Yard) -> int:
        if yard.health is Health.WATCH and not self.operation.work.watch_after_clean:
            return 0
        return yard.health.rank

    def _amounts(self, piece: Piece) -> tuple[list[int], list[int], list[int]]:
        """Pumped millilitres, millilitres in pails and pails, by syrup."""
        bulk, pail_ml, pails = ([0] * len(self.syrups) for _ in range(3))
        for dose, colonies in piece:
            s, ml = self.syrups.index(dose.syrup_id), round(dose.each_l * colonies * ML)
            if dose.swapped:
                pail_ml[s] += ml
                pails[s] += colonies
            else:
                bulk[s] += ml
        return bulk, pail_ml, pails

    def _visit(self, need: YardNeed, piece: Piece) -> Visit:
        op, yard = self.operation, self.operation.yards[need.yard_id]
        bulk, pail_ml, pails = self._amounts(piece)
        carried = any(pails)
        back = carried and yard.health is not Health.QUARANTINE
        windows = self.clock.openings(yard.windows, self.earliest, self.latest)
        late = need.windows or ()
        return Visit(
            place=self.travel.index(place_key("yard", yard.yard_id)),
            bulk_ml=tuple(bulk),
            value=op.cost.drop_value_per_colony * sum(colonies for _, colonies in piece),
            pail_ml=tuple(pail_ml) if carried else (),
            pails=tuple(pails) if carried else (),
            empties=sum(pails) if back else 0,
            setup_s=yard.setup_s,
            handling_s=ceil(sum(dose.service_s * colonies for dose, colonies in piece) - 1e-9),
            windows=windows,
            begin=self.clock.openings(late, self.earliest, self.latest) if late else ((-(10**9), 10**9),),
            leave_by=op.shift.leave_by_window,
            trucks=access(self.trucks, yard),
            max_gross_g=None if yard.max_gross_kg is None else floor(yard.max_gross_kg * G),
            required=need.starving,
            rank=self._rank(yard),
            name=need.yard_id,
        )

    def _split(self, need: YardNeed, specs: tuple[TruckSpec, ...]) -> list[Piece]:
        """The pieces of a yard; doses that no truck has a tank or a rack for are kept apart."""
        yard = self.operation.yards[need.yard_id]
        able = sorted(access(self.trucks, yard))
        carried = [d for d in need.doses if any(self._share(((d, 1),), yard, specs[k]) <= 1 for k in able)]
        stuck = tuple((d, d.colonies) for d in need.doses if d not in carried)

        def share(piece: Piece) -> float:
            return min((self._share(piece, yard, specs[k]) for k in able), default=inf)

        return split_doses(carried, share) + ([stuck] if stuck else [])

    def _share(self, piece: Piece, yard: Yard, truck: TruckSpec) -> float:
        """The largest share of any limit of a truck that a piece takes; over 1 it does not fit."""
        bulk, pail_ml, pails = self._amounts(piece)
        load_g = sum(pails) * self.operation.work.pail_kg * G
        load_g += sum((b + p) * d for b, p, d in zip(bulk, pail_ml, self.density, strict=True))
        limit = truck.gross_g if yard.max_gross_kg is None else min(truck.gross_g, yard.max_gross_kg * G)
        seconds = yard.setup_s + ceil(sum(dose.service_s * colonies for dose, colonies in piece))
        if truck.pump_ml_s:
            seconds = max(seconds, yard.setup_s + ceil(sum(bulk) / truck.pump_ml_s))
        pairs: list[tuple[float, float]] = [
            (ml, cap) for ml, cap in zip(bulk, truck.capacity_ml, strict=True)
        ]
        pairs += [(sum(pails), truck.pail_slots), (ceil(load_g), max(0, limit - truck.tare_g))]
        pairs.append((seconds, self._longest_visit_s(yard, truck)))
        return max((used / most if most else (inf if used else 0.0)) for used, most in pairs)

    def _longest_visit_s(self, yard: Yard, truck: TruckSpec) -> int:
        """The longest that a crew may stand in a yard at a stretch."""
        longest = truck.latest_s - truck.earliest_s
        if truck.break_s and not truck.break_on_driving:
            longest = min(longest, truck.break_after_s)
        if self.operation.shift.leave_by_window:
            open_s = [b - a for a, b in self.clock.openings(yard.windows, self.earliest, self.latest)]
            longest = min(longest, max(open_s, default=0))
        return longest
