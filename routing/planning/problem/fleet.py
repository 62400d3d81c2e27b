"""State the trucks, their tanks and the depots of a day for the engines."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor

from routing.domain.fleet import Truck, Underway
from routing.domain.operation import Operation, place_key
from routing.domain.places import Depot
from routing.planning.problem.frame import ML, Frame, G, aboard_syrup, access, whole_ml
from routing.planning.problem.problem import DepotSpec, Supply, TruckSpec
from routing.planning.problem.tank_choice import TankChoice, assign_tanks


def tank_choices(frame: Frame) -> list[tuple[tuple[str, ...], ...]]:
    """For each choice, the syrup of every tank of every truck."""
    number = {s: i for i, s in enumerate(frame.syrups)}
    tanks = [(k, tank) for k, truck in enumerate(frame.trucks) for tank in truck.tanks]
    if not frame.syrups:
        return [tuple(tuple(tank.syrup_id or "" for tank in truck.tanks) for truck in frame.trucks)]
    choices, demand = [], [0] * len(frame.syrups)
    for k, tank in tanks:
        bound = aboard_syrup(frame.operation, tank)
        free = tuple(range(len(frame.syrups)))
        syrups = free if bound is None else ((number[bound],) if bound in number else free[:0])
        choices.append(TankChoice(k, whole_ml(tank.capacity_l), syrups))
    reach: dict[tuple[int, frozenset[int]], int] = {}
    for need in frame.needs:
        trucks = access(frame.trucks, frame.operation.yards[need.yard_id])
        for dose in (d for d in need.doses if not d.swapped):
            s = number[dose.syrup_id]
            demand[s] += round(dose.volume_l * ML)
            reach[s, trucks] = reach.get((s, trucks), 0) + round(dose.volume_l * ML)
    usable = [c for c in choices if c.syrups]
    found = []
    for assignment in assign_tanks(usable, demand, reach):
        picked = iter(assignment)
        named = [
            frame.syrups[next(picked)] if choice.syrups else (tank.syrup_id or "")
            for choice, (_, tank) in zip(choices, tanks, strict=True)
        ]
        by_truck = iter(named)
        found.append(tuple(tuple(next(by_truck) for _ in truck.tanks) for truck in frame.trucks))
    return found


def truck_spec(frame: Frame, k: int, names: tuple[str, ...]) -> TruckSpec:
    """One truck of the day, its tanks holding the syrups named."""
    truck, op = frame.trucks[k], frame.operation
    number = {d: i for i, d in enumerate(op.depots)}
    pairs = list(zip(truck.tanks, names, strict=True))
    shift, cost, window = op.shift, op.cost, op.shift_of(truck)
    capacity = tuple(sum(whole_ml(t.capacity_l) for t, name in pairs if name == s) for s in frame.syrups)
    pails = any(dose.swapped for need in frame.needs for dose in need.doses) and truck.pail_slots > 0
    tables = list(frame.travel.by_truck)
    spec = TruckSpec(
        start=number[truck.start_depot],
        end=number[truck.end_depot],
        capacity_ml=capacity,
        level_ml=tuple(sum(whole_ml(t.level_l) for t, name in pairs if name == s) for s in frame.syrups),
        tanks=tuple(
            (frame.syrups.index(name), whole_ml(t.capacity_l), whole_ml(t.level_l))
            for t, name in pairs
            if name in frame.syrups
        ),
        pail_slots=truck.pail_slots,
        tare_g=ceil(truck.tare_kg * G),
        gross_g=floor(truck.gvwr_kg * G),
        earliest_s=frame.clock.elapsed_s(window.start_s),
        latest_s=frame.clock.elapsed_s(window.end_s),
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
        climb=frame.climb,
        idle_l_per_s=truck.idle_l_per_h / 3600,
        pump_ml_s=truck.pump_l_per_s * ML if truck.pump_l_per_s else None,
        hands=op.work.hands(truck.crew),
        matrix=1 + tables.index(truck.truck_id) if truck.truck_id in tables else 0,
        refill_depots=tuple(
            i
            for i, d in enumerate(op.depots.values())
            if d.wash_down or _gives(frame.syrups, d, capacity, pails)
        ),
        name=truck.truck_id,
    )
    return spec if truck.underway is None else _underway(frame, spec, truck.underway)


def _underway(frame: Frame, spec: TruckSpec, state: Underway) -> TruckSpec:
    """A truck in the middle of its day. A break that is overdue is due at once."""
    shift = frame.operation.shift
    tired_s = state.driven_since_break_s if spec.break_on_driving else state.since_break_s
    count, volume = [0] * len(frame.syrups), [0] * len(frame.syrups)
    for load in state.pails:
        if load.syrup_id in frame.syrups:
            count[frame.syrups.index(load.syrup_id)] += load.pails
            volume[frame.syrups.index(load.syrup_id)] += round(load.volume_l * ML)
    return replace(
        spec,
        earliest_s=max(spec.earliest_s, state.from_s),
        ordinary_s=max(0, shift.max_s - state.worked_s),
        overtime_s=max(0, shift.overtime_s - max(0, state.worked_s - shift.max_s)),
        driving_s=max(0, shift.max_driving_s - state.driven_s),
        pails_aboard=tuple(count),
        pail_ml_aboard=tuple(volume),
        empties_aboard=state.pails_empty,
        rank=state.rank,
        on_the_clock=True,
        tired_s=min(tired_s, shift.break_after_s),
        fixed=0.0,
    )


def any_syrups(
    operation: Operation, syrups: tuple[str, ...], truck: Truck, spec: TruckSpec, pails: bool
) -> TruckSpec:
    """The truck with room for each syrup in every tank that may carry it; all of them only once."""
    capacity, whole = [0] * len(syrups), 0
    for tank in truck.tanks:
        bound, room_ml = aboard_syrup(operation, tank), whole_ml(tank.capacity_l)
        may = [s for s, name in enumerate(syrups) if bound in (None, name)]
        whole += room_ml if may else 0
        for s in may:
            capacity[s] += room_ml
    carries = pails and truck.pail_slots > 0
    depots = enumerate(operation.depots.values())
    gives = {i for i, d in depots if d.wash_down or _gives(syrups, d, tuple(capacity), carries)}
    return replace(
        spec,
        capacity_ml=tuple(capacity),
        tank_ml=whole,
        tanks=(),
        refill_depots=tuple(sorted(gives | set(spec.refill_depots))),
    )


def _gives(syrups: tuple[str, ...], depot: Depot, capacity_ml: tuple[int, ...], pails: bool) -> bool:
    """Whether a depot has anything that a truck can take."""
    held = [depot.stock_of(s) for s in syrups]
    some = [row is not None and row.on_hand_l != 0 for row in held]
    return any(
        has and (cap > 0 or (pails and depot.base)) for has, cap in zip(some, capacity_ml, strict=True)
    )


def depot_spec(frame: Frame, depot: Depot) -> DepotSpec:
    """One depot, with what it has of the day's syrups."""
    supplies: list[Supply | None] = []
    for s in frame.syrups:
        row = depot.stock_of(s)
        if row is None or row.on_hand_l == 0:
            supplies.append(None)
            continue
        stock = None if row.on_hand_l is None else whole_ml(row.on_hand_l)
        opens = frame.clock.elapsed_s(row.from_s) if row.from_s else -(10**9)
        supplies.append(Supply(row.fill_l_per_s * ML, stock, opens))
    return DepotSpec(
        place=frame.travel.index(place_key("depot", depot.depot_id)),
        supplies=tuple(supplies),
        windows=frame.clock.openings(depot.windows, frame.earliest_s, frame.latest_s),
        leave_by=frame.operation.shift.leave_by_window,
        setup_s=depot.setup_s,
        pails=depot.base,
        wash=depot.wash_down,
        name=depot.depot_id,
    )
