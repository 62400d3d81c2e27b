"""Fuel for climbing: the mass of the truck lifted, by an engine that turns part of its fuel into work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.domain.units import GRAVITY_M_PER_S2, J_PER_MJ

Rows = list[list[int]]


@dataclass(frozen=True, eq=False)
class Climb:
    """Metres climbed between places, a table for each truck profile, and litres per gram and metre."""

    rows: tuple[Rows, ...]
    l_per_g_m: float

    def along(self, table: int, places: Sequence[int]) -> list[int]:
        """Metres climbed to each place of a route, none to the first."""
        rows = self.rows[table]
        return [0, *(rows[a][b] for a, b in pairwise(places))]

    def fuel_l(self, climb_m: float, gross_g: float) -> float:
        """Litres to lift a gross mass: m g h over the work that a litre does."""
        return climb_m * gross_g * self.l_per_g_m


def climb_of(operation: Operation, travel: Travel) -> Climb | None:
    """The climbs of a travel table, in the order of a problem's tables; None when no heights are known."""
    tables = (travel.matrix, *travel.by_truck.values())
    if all(table.climb_m is None for table in tables):
        return None
    rows: list[Rows] = []
    for table in tables:
        level = [[0] * len(travel.places)] * len(travel.places)
        rows.append(level if table.climb_m is None else table.climb_m.tolist())
    roads = operation.roads
    work_j_per_l = roads.climb_efficiency * roads.fuel_mj_per_l * J_PER_MJ
    return Climb(tuple(rows), GRAVITY_M_PER_S2 / work_j_per_l / 1000)
