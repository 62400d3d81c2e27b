"""Small problems made by hand: places along one road that is driven at a kilometre a minute."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from routing.planning.problem.problem import DepotSpec, Problem, Supply, TruckSpec, Visit, depot_stop

HOUR = 3600
HOME = depot_stop(0)
FIELD = depot_stop(1)
# One thing to carry unless a test says more, of 1.25 kg a litre, pumped aboard at a litre a second.
DENSITY = 1.25
PLENTY = Supply(1000.0)


def visit(place: int, litres: float = 100.0, **more: Any) -> Visit:
    """A yard at a place (by position in ``km``) that takes some litres of the first syrup, and no time."""
    return replace(Visit(place, (round(litres * 1000),), 1000.0), **more)


def depot(place: int = 0, **more: Any) -> DepotSpec:
    """A base with plenty of the first syrup; loading takes the time of filling alone."""
    return replace(DepotSpec(place, (PLENTY,)), **more)


def truck(**more: Any) -> TruckSpec:
    """A truck from and to the first depot with a tank of 1,000 L, that costs one a kilometre."""
    plain = TruckSpec(
        0, 0, (1_000_000,), (0,), tare_g=4_000_000, gross_g=8_000_000, per_m=0.001, refill_depots=(0,)
    )  # fmt: skip
    return replace(plain, **more)


def along(
    km: Sequence[float],
    visits: Sequence[Visit],
    trucks: Sequence[TruckSpec] = (),
    depots: Sequence[DepotSpec] = (),
    **more: Any,
) -> Problem:
    """The problem of places at some kilometres of a road; the first is the base."""
    at = np.array(km, dtype=float)
    metres = np.rint(np.abs(at[:, None] - at[None, :]) * 1000).astype(np.int64)
    plain = Problem(
        visits=tuple(visits),
        depots=tuple(depots) or (depot(),),
        trucks=tuple(trucks) or (truck(),),
        distance_m=(metres,),
        drive_s=(metres * 60 // 1000,),
        density_g_ml=(DENSITY,),
    )
    return replace(plain, **more)


def pails(place: int, count: int, empties: int | None = None, **more: object) -> Visit:
    """A yard that swaps pails of ten litres; as many empties come back."""
    back = count if empties is None else empties
    given: dict[str, object] = {"pail_ml": (count * 10_000,), "pails": (count,), "empties": back, **more}
    return visit(place, 0.0, **given)


def scattered(n: int, seed: int, **more: object) -> Problem:
    """Yards on both sides of the base, two trucks, refills, gates and a tight day."""
    rng = random.Random(seed)
    km = [0.0, *(rng.uniform(-90, 90) for _ in range(n)), 45.0]
    yards = []
    for i in range(n):
        gate = ((6 * HOUR, rng.randint(9, 16) * HOUR),) if rng.random() < 0.4 else ((0, 10**6),)
        yards.append(
            visit(
                i + 1, rng.randint(50, 400), handling_s=rng.randint(600, 2400), windows=gate,
                value=rng.choice((20.0, 200.0, 900.0)), rank=rng.choice((0, 0, 0, 1)),
                required=rng.random() < 0.1, leave_by=rng.random() < 0.5,
            )
        )  # fmt: skip
    crews = [
        truck(
            earliest_s=6 * HOUR, ordinary_s=8 * HOUR, overtime_s=HOUR, per_s=0.01, overtime_per_s=0.01,
            break_s=1800, break_after_s=5 * HOUR, refill_depots=(0, 1), fixed=30.0, capacity_ml=(ml,),
        )
        for ml in (700_000, 500_000)
    ]  # fmt: skip
    bases = [depot(wash=True), depot(n + 1, supplies=(Supply(500.0, 900_000),))]
    return along(km, yards, crews, bases, wash_s=1800, margin=0.03, **more)
