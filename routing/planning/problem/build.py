"""Turn an operation, its travel table and the day's need into problems for the engines.

One problem for each sensible choice of syrups in the tanks. Rounding is against us: demand and time up,
capacity down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.places import Depot
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.planning.problem.fleet import any_syrups, depot_spec, tank_choices, truck_spec
from routing.planning.problem.frame import Frame, G, frame_day
from routing.planning.problem.problem import Problem, Visit
from routing.planning.problem.split import Piece
from routing.planning.problem.visits import split_need, visit_spec


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
    frame = frame_day(operation, travel, day, needs, truck_ids)
    return [_build(frame, choice) for choice in tank_choices(frame)]


def envelope(days: Sequence[Day]) -> tuple[Problem, ...]:
    """Problems that allow every plan of a day whatever its free tanks carry, for a lower bound.

    Each truck has room for each syrup in every tank that may carry it. Yards are cut into visits as the
    days cut them: one problem for each way of cutting that occurs. What is below every plan of each of
    them is below every plan of the day.
    """
    found: dict[tuple[Visit, ...], Problem] = {}
    pails = any(dose.swapped for need in days[0].needs for dose in need.doses)
    dear = min(day.problem.dear for day in days)
    for day in days:
        if day.problem.visits not in found:
            pairs = zip(day.trucks, day.problem.trucks, strict=True)
            trucks = tuple(any_syrups(day.operation, day.syrups, t, spec, pails) for t, spec in pairs)
            found[day.problem.visits] = replace(day.problem, trucks=trucks, dear_as=dear)
    return tuple(found.values())


def _build(frame: Frame, tank_syrups: tuple[tuple[str, ...], ...]) -> Day:
    operation, travel = frame.operation, frame.travel
    specs = tuple(truck_spec(frame, k, names) for k, names in enumerate(tank_syrups))
    depots = tuple(operation.depots.values())
    pieces = [(need, piece) for need in frame.needs for piece in split_need(frame, need, specs)]
    tables = [travel.matrix, *(travel.by_truck[t] for t in travel.by_truck)]
    problem = Problem(
        visits=tuple(visit_spec(frame, need, piece) for need, piece in pieces),
        depots=tuple(depot_spec(frame, depot) for depot in depots),
        trucks=specs,
        distance_m=tuple(t.distance_m for t in tables),
        drive_s=tuple(t.drive_s for t in tables),
        density_g_ml=frame.density,
        pail_g=ceil(operation.work.pail_kg * G),
        pail_load_s=operation.work.pail_load_s,
        wash_s=operation.work.wash_s,
        margin=operation.feeding.margin,
        balance_per_s=operation.cost.balance_per_h / 3600,
    )
    return Day(
        operation,
        travel,
        frame.date,
        frame.needs,
        problem,
        frame.trucks,
        depots,
        frame.syrups,
        tuple(pieces),
        tank_syrups,
    )
