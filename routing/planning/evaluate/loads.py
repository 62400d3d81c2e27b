"""What a truck takes aboard at each depot of a route, what it weighs, and the rules a route may break."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from routing.planning.evaluate.route_rules import RouteRules, rules_of
from routing.planning.problem.problem import Problem, Stops


class Fault(StrEnum):
    """The first rule that a sequence of stops breaks. Those up to ``STOCK`` one more refill may cure."""

    TANK = "tank"
    SLOTS = "slots"
    WEIGHT = "weight"
    GATE_WEIGHT = "gate_weight"
    SUPPLY = "supply"
    STOCK = "stock"
    ACCESS = "access"
    IDLE_REFILL = "idle_refill"
    HYGIENE = "hygiene"
    WINDOW = "window"
    SHIFT = "shift"
    DRIVING = "driving"
    BREAK = "break"


FAULTS: tuple[Fault | None, ...] = (None, *Fault)
"""By the numbers of the rules."""


@dataclass(frozen=True, slots=True)
class Loading:
    """What is taken aboard at one depot call, per commodity."""

    bulk_ml: tuple[int, ...]
    pail_ml: tuple[int, ...]
    pails: tuple[int, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing is taken aboard."""
        return not any(self.bulk_ml) and not any(self.pails)


@dataclass(slots=True)
class Loads:
    """Loads along a route; point 0 is the start depot, point i the i-th stop.

    ``pails_full``, ``pails_empty`` and ``gross_g`` hold on leaving a point. After a fault nothing is said.
    """

    fault: Fault | None
    loading: dict[int, Loading]
    washes: set[int]
    pails_full: list[int]
    pails_empty: list[int]
    gross_g: list[float]


def plan_loads(problem: Problem, truck: int, stops: Stops) -> Loads:
    """Loads for a route, with the spare share of syrup unless it would break a weight limit."""
    rules = rules_of(problem)
    return loads_of(rules, stops, FAULTS[rules.lay_out(truck, stops)])


def loads_of(rules: RouteRules, stops: Stops, fault: Fault | None) -> Loads:
    """The loads of the route that was laid out last."""
    if fault is not None:
        return Loads(fault, {}, set(), [], [], [])
    points = rules.scratch.points[: len(stops) + 1]
    calls = [0, *(i for i, stop in enumerate(stops, start=1) if stop < 0)]
    return Loads(
        None,
        {i: _loading(rules.scratch.calls[i]) for i in calls},
        {i for i in calls if points[i].washes},
        [point.full for point in points],
        [point.empty for point in points],
        [point.gross_g for point in points],
    )


def _loading(call: Any) -> Loading:
    taken, pail_ml, pails = (
        [getattr(kind, name) for kind in call] for name in ("taken_ml", "pail_ml", "pails")
    )
    return Loading(tuple(taken), tuple(pail_ml), tuple(pails))
