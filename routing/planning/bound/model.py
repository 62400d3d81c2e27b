"""Say what a bound knows of one kind of truck: ways between visits, cargo, resources and hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from routing.planning.bound.resources import Shares, Stock, whole_levels
from routing.planning.machine_code.records import Flags, Floats, Ints
from routing.planning.problem.problem import Problem, TruckSpec

FAR = 1e15
"""Stands for what cannot be: more than any money or time, and still added up without overflow."""


class Hours(NamedTuple):
    """What the hours of a crew allow and cost.

    ``credit_s`` of loading may have been done before the day; ``fixed`` is for going out, less what that
    saves.
    """

    longest_s: float
    credit_s: float
    since_break_s: float
    break_after_s: float
    break_s: float
    ordinary_s: float
    per_s: float
    overtime_per_s: float
    fixed: float


def closing(hours: Hours, seconds: Floats) -> Floats:
    """What breaks, overtime and going out add to rounds that keep their crew busy for ``seconds``.

    About FAR where that is longer than the law allows. Wages for the busy time are in the ways. The same text
    is compiled for single labels and interpreted over arrays.
    """
    busy_s = np.maximum(0.0, seconds - hours.credit_s)
    since_s = busy_s + hours.since_break_s - 1e-6
    rest_s = np.maximum(0.0, np.ceil(since_s / hours.break_after_s) - 1.0) * hours.break_s
    work_s = busy_s + rest_s
    overtime_s = np.maximum(0.0, work_s - hours.ordinary_s)
    money = hours.fixed + rest_s * hours.per_s + overtime_s * hours.overtime_per_s
    return money + FAR * (work_s > hours.longest_s + 1e-6)


@dataclass(frozen=True, eq=False)
class Way:
    """One way from each visit to each; the start is the last ``from``. FAR marks what is forbidden.

    Attributes
    ----------
    seconds, money : array, [from, to]
        The drive, loading where the way calls, and the visit it leads to.
    gain, first_gain : array, [resource]
        What it adds to what the round may use; ``first_gain`` where it begins the round.
    calls : bool
        Whether it calls at a depot to load.
    """

    seconds: Floats
    money: Floats
    gain: Floats
    first_gain: Floats
    calls: bool


@dataclass(frozen=True, eq=False)
class Call:
    """From each visit to each by a call where something is loaded; the start is the last ``from``.

    Attributes
    ----------
    seconds, money, gain, first_gain : array
        As in ``Way``.
    gives : array of bool, [part]
        Whether the depot has that part of the cargo.
    before_m : array, [from]
        Metres to the depot, with what it does not give aboard.
    onward_m : array, [to]
        Metres from it to the visit, with everything aboard.
    elsewhere : array of bool, [stock]
        Whether it is at another depot than the one of that limited stock.
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
    """The cargo of a truck's rounds. Its parts: each syrup in tanks (mL), pails, grams in pails.

    Attributes
    ----------
    takes : array, [visit, part]
        What each visit takes.
    grams, most : array, [part]
        The mass of one of each part; the most that the truck holds.
    tanks_ml, room_g : float
        What all tanks hold together; the mass the truck may carry.
    gate_g : array, [visit]
        The mass it may carry on coming to each visit.
    at_start, laden : array, [part]
        The most of each part on leaving the start, after loading there and without.
    metres : array, [from, to]
        Direct ways; the start is the last ``from``.
    calls : tuple of Call
        Where it may load on the way.
    carry : array, [visit]
        Money in the ways for the shortest way of each visit's cargo.
    carried_m : array, [visit]
        The metres of that way.
    per_g_m : float
        Money for a gram over a metre.
    shares : Shares
        What visits and truck hold of limited stocks.
    spare : float
        The share more that may be pumped aboard.
    away : array of bool, [stock]
        Stocks that are not at the start.
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
        """By visit, what it takes of a truckload in whole levels: no trip takes more than ``count``.

        Of all that fills a truck (each syrup, all tanks, rack, mass) the scarcest is counted.
        """
        tanks = self.takes[:, :-2].sum(axis=1) / max(1.0, self.tanks_ml)
        parts = self.takes[:, :-1] / np.maximum(1.0, self.most[:-1])
        mass = (self.takes @ self.grams - 1.0) / self.room_g
        shares = np.column_stack([tanks, parts, mass])
        counted = whole_levels(np.clip(shares, 0.0, 1.0), count)
        return np.asarray(counted[:, int(counted.sum(axis=0).argmax())].astype(np.int64))


@dataclass(frozen=True, eq=False)
class TruckModel:
    """The rounds of ``count`` identical trucks over ``visits`` (positions in the problem).

    Attributes
    ----------
    truck : int
        One of the trucks.
    ways : tuple of Way
        All ways between visits.
    use : array, [visit, resource]
        What each visit uses; no round may use more than its ways gain. The last ``shared`` resources are
        stocks that all models share.
    home_s, home_money : array, [visit]
        From each visit to the end of the day.
    hours : Hours
        What the crew's hours allow and cost.
    idle : float
        What a truck costs that goes nowhere.
    standing : array, [visit]
        Money in the ways that a visit costs wherever the truck comes from.
    latest_s : array, [visit]
        The time after the start by which each visit must be left.
    """

    truck: int
    count: int
    visits: tuple[int, ...]
    ways: tuple[Way, ...]
    use: Floats
    home_s: Floats
    home_money: Floats
    hours: Hours
    spared: float
    idle: float
    standing: Floats
    latest_s: Floats
    cargo: Cargo
    shared: int

    def busy_by(self, elapsed_s: float) -> float:
        """The longest busy time that may have passed, with the breaks it calls for, in some elapsed time."""
        hours = self.hours
        if not hours.break_s:
            return elapsed_s
        most, rests = 0.0, 0
        while elapsed_s - rests * hours.break_s > 0 and rests < 100:
            limit_s = (rests + 1) * hours.break_after_s - hours.since_break_s
            most = max(most, min(elapsed_s - rests * hours.break_s, limit_s))
            rests += 1
        return most


def hours_of(spec: TruckSpec, credit_s: float, spared: float) -> Hours:
    """The hours of a crew. Breaks by driving time are left out."""
    return Hours(
        longest_s=float(min(spec.max_s, spec.latest_s - spec.earliest_s)),
        credit_s=float(credit_s),
        since_break_s=float(spec.tired_s),
        break_after_s=float(max(1, spec.break_after_s)),
        break_s=0.0 if spec.break_on_driving else float(spec.break_s),
        ordinary_s=float(spec.ordinary_s),
        per_s=float(spec.per_s),
        overtime_per_s=float(spec.overtime_per_s),
        fixed=float(spec.fixed - spared),
    )


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
    """The cargo of a truck's rounds over some visits; what is not named here is as in ``Cargo``.

    Parameters
    ----------
    problem : Problem
    spec : TruckSpec
        The truck.
    visits : sequence of int
        The visits that it may serve, by position in the problem.
    at_start, laden : sequence of float, [part]
        Without the last part, the grams in pails.
    stocks : sequence of Stock
        The limited stocks (``resources.stocks_of``).
    """
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


def parts_given(problem: Problem, visits: Sequence[int], depot: int) -> Flags:
    """Which parts of a cargo that some visit wants a depot has."""
    spec = problem.depots[depot]
    some = [row is not None for row in spec.supplies]
    racked = spec.pails and any(some)
    wanted = [any(problem.visits[v].bulk_ml[s] for v in visits) for s in range(len(some))]
    pails = any(problem.visits[v].pail_count for v in visits)
    return np.array(
        [*(a and b for a, b in zip(some, wanted, strict=True)), racked and pails, racked and pails]
    )
