"""State what a round must have aboard: what each visit takes, each depot gives and each truck holds."""

from __future__ import annotations

from dataclasses import dataclass

from routing.planning.bound_numbers import Flags, Floats


@dataclass(frozen=True, eq=False)
class Call:
    """From each visit (the start in the last row) to each by a call where something is loaded.

    ``gives`` tells for each part of the cargo whether the depot has it. ``before_m`` leads to the depot with
    what it does not give, ``onward_m`` from it to the visit with all. ``gain`` is as in ``Way``.
    """

    seconds: Floats
    money: Floats
    gain: Floats
    first_gain: Floats
    gives: Flags
    before_m: Floats
    onward_m: Floats


@dataclass(frozen=True, eq=False)
class Cargo:
    """Parts of the cargo: each syrup in tanks (mL), pails, grams in pails.

    ``takes`` by visit and part; ``grams`` of one of each part; ``most`` of each part; ``tanks_ml`` in all
    tanks; ``room_g``, and ``gate_g`` on coming to each visit. ``at_start`` is the most of each part on
    leaving the start, ``laden`` without loading there. ``carry`` is the money in the ways for the shortest
    way of each visit's cargo; ``per_g_m`` that of a gram over a metre, ``carried_m`` the metres.
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
