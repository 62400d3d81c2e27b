"""State what a round must have aboard: what each visit takes, each depot gives and each truck holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.planning.bound.closure import levels
from routing.planning.bound.numbers import FAR, Flags, Floats, Ints
from routing.planning.bound.resources import Shares, Stock
from routing.planning.problem.problem import Problem, TruckSpec


@dataclass(frozen=True, eq=False)
class Call:
    """From each visit (the start in the last row) to each by a call where something is loaded.

    ``gives`` tells for each part of the cargo whether the depot has it. ``before_m`` leads to the depot with
    what it does not give, ``onward_m`` from it to the visit with all. ``gain`` and ``first_gain`` are as in
    ``Way``. ``elsewhere`` tells for each limited stock whether a depot is another than its own.
    """

    seconds: Floats
    money: Floats
    gain: Floats
    first_gain: Floats
    gives: Flags
    before_m: Floats
    onward_m: Floats
    elsewhere: Flags


@dataclass(frozen=True, eq=False)
class Cargo:
    """Parts of the cargo: each syrup in tanks (mL), pails, grams in pails.

    ``takes`` by visit and part; ``grams`` of one of each part; ``most`` of each part; ``tanks_ml`` in all
    tanks; ``room_g``, and ``gate_g`` on coming to each visit. ``at_start`` is the most of each part on
    leaving the start, ``laden`` without loading there. ``carry`` is the money in the ways for the shortest
    way of each visit's cargo; ``per_g_m`` that of a gram over a metre, ``carried_m`` the metres. ``shares``
    are those of limited stocks, ``spare`` the share more that may be pumped aboard, ``away`` the stocks that
    are not at the start.
    """

    takes: Floats
    grams: Floats
    most: Floats
    tanks_ml: float
    room_g: float
    gate_g: Floats
    at_start: Floats
    laden: Floats
    metres: Floats
    calls: tuple[Call, ...]
    carry: Floats
    carried_m: Floats
    per_g_m: float
    shares: Shares
    spare: float
    away: Flags

    def levels(self, count: int) -> Ints:
        """What each visit takes of a truckload in whole levels: no trip takes more than ``count``.

        Of all that fills a truck (each syrup, all tanks, rack, mass) the scarcest is counted.
        """
        tanks = self.takes[:, :-2].sum(axis=1) / max(1.0, self.tanks_ml)
        parts = self.takes[:, :-1] / np.maximum(1.0, self.most[:-1])
        mass = (self.takes @ self.grams - 1.0) / self.room_g
        shares = np.column_stack([tanks, parts, mass])
        counted = levels(np.clip(shares, 0.0, 1.0), count)
        return np.asarray(counted[:, int(counted.sum(axis=0).argmax())].astype(np.int64))


def cargo_of(
    problem: Problem,
    spec: TruckSpec,
    visits: Sequence[int],
    *,
    at_start: Sequence[float],
    laden: Sequence[float],
    metres: Floats,
    calls: tuple[Call, ...],
    carry: Floats,
    carried_m: Floats,
    stocks: Sequence[Stock],
) -> Cargo:
    """The cargo of a truck's rounds. ``at_start`` and ``laden`` are without the grams in pails."""
    chosen = [problem.visits[v] for v in visits]
    none = (0,) * len(problem.density_g_ml)
    takes: list[list[float]] = [
        [
            *v.bulk_ml,
            v.pail_count,
            v.pail_count * problem.pail_g
            + sum(ml * d for ml, d in zip(v.pail_ml or none, problem.density_g_ml, strict=True)),
        ]
        for v in chosen
    ]
    gates = [spec.gross_g if v.max_gross_g is None else v.max_gross_g for v in chosen]
    return Cargo(
        takes=np.array(takes, dtype=float).reshape(len(chosen), len(none) + 2),
        grams=np.array([*problem.density_g_ml, 0.0, 1.0]),
        most=np.array([*spec.capacity_ml, max(sum(spec.pails_aboard), spec.pail_slots), FAR]),
        tanks_ml=float(sum(spec.capacity_ml) if spec.tank_ml is None else spec.tank_ml),
        room_g=spec.gross_g - spec.tare_g + 1.0,
        gate_g=np.minimum(spec.gross_g, np.array(gates, dtype=float)) - spec.tare_g + 1.0,
        at_start=np.array([*at_start, FAR if at_start[-1] else 0.0], dtype=float),
        laden=np.array([*laden, FAR if laden[-1] else 0.0], dtype=float),
        metres=metres,
        calls=calls,
        carry=carry,
        carried_m=carried_m,
        per_g_m=max(0.0, spec.fuel_per_g) * spec.fuel_price,
        shares=Shares(problem, spec, visits, stocks),
        spare=problem.margin,
        away=np.array([d != spec.start for d, _, _ in stocks], dtype=bool),
    )


def given(problem: Problem, visits: Sequence[int], depot: int) -> Flags:
    """Which parts of a cargo that some visit wants a depot has."""
    spec = problem.depots[depot]
    some = [row is not None for row in spec.supplies]
    racked = spec.pails and any(some)
    wanted = [any(problem.visits[v].bulk_ml[s] for v in visits) for s in range(len(some))]
    pails = any(problem.visits[v].pail_count for v in visits)
    return np.array(
        [*(a and b for a, b in zip(some, wanted, strict=True)), racked and pails, racked and pails]
    )
