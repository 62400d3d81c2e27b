"""Small problems made by hand: places along one road that is driven at a kilometre a minute."""

from __future__ import annotations

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
