"""State a published instance as a day of rounds with refills.

Metres and seconds are the instance's distance; money is its cost. Loading takes no time, syrup has no
mass, fuel, wages and breaks are nought, and windows bound the beginning of a visit. So the planner's
objective is the cost of the paper, and all that it does beyond the paper stands still.
"""

from __future__ import annotations

from routing.planning.problem.problem import DepotSpec, Problem, Supply, TruckSpec, Visit
from tests.support.instances.instance import Client, Instance, Vehicle


def to_problem(instance: Instance) -> Problem:
    """The instance as the planner sees it; visits and trucks keep their order."""
    kinds = len(instance.vehicles[0].capacity)
    supplies = (Supply(float("inf")),) * kinds
    return Problem(
        visits=tuple(_visit(instance, i, client) for i, client in enumerate(instance.clients)),
        depots=tuple(
            DepotSpec(d.site, supplies, windows=(d.window,), name=str(d.label)) for d in instance.depots
        ),
        trucks=tuple(map(_truck, instance.vehicles)),
        distance_m=(instance.distance,),
        drive_s=(instance.distance,),
        density_g_ml=(0.0,) * kinds,
        money_step=1.0,
    )


def _visit(instance: Instance, i: int, client: Client) -> Visit:
    able = frozenset(v for v, allowed in enumerate(instance.allowed) if allowed is None or i in allowed)
    return Visit(
        place=client.site,
        bulk_ml=client.demand,
        value=float(client.prize or 0),
        handling_s=client.service,
        windows=(client.window,),
        trucks=None if len(able) == len(instance.vehicles) else able,
        required=client.prize is None,
        release_s=client.release,
        name=str(client.label),
    )


def _truck(vehicle: Vehicle) -> TruckSpec:
    return TruckSpec(
        start=vehicle.start,
        end=vehicle.end,
        capacity_ml=vehicle.capacity,
        level_ml=(0,) * len(vehicle.capacity),
        earliest_s=vehicle.window[0],
        latest_s=vehicle.window[1],
        ordinary_s=10**9 if vehicle.max_duration is None else vehicle.max_duration,
        per_m=vehicle.per_unit,
        fixed=vehicle.fixed,
        refill_depots=vehicle.reload,
        max_refills=min(vehicle.max_reloads, 1000),
    )
