"""What a rule of the audit is: a code, the sentence it stands for, and a function that finds breaches."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from routing.audit.evidence.book import Book, Halt, Replay
from routing.domain.plan import Finding

VOLUME_L = 1e-3
MASS_KG = 0.05
FUEL_L = 1e-3
MONEY = 0.01
SERVICE_S = 0.01
"""Tolerances: rounding to the millilitre must pass, a fault a crew could notice must not."""


@dataclass(frozen=True)
class Breach:
    """One breach of a rule: what is wrong, and at which halt or place it stands."""

    text: str
    halt: Halt | None = None
    place_id: str | None = None
    truck_id: str | None = None


@dataclass(frozen=True)
class RouteRule:
    """A rule that one route keeps or breaks by itself."""

    code: str
    states: str
    find: Callable[[Replay], Iterator[Breach]]

    def findings(self, book: Book) -> list[Finding]:
        """Breaches on every route of the plan."""
        return [
            _finding(self.code, breach, route.route.truck_id)
            for route in book.routes
            for breach in self.find(route)
        ]


@dataclass(frozen=True)
class PlanRule:
    """A rule on the plan as a whole."""

    code: str
    states: str
    find: Callable[[Book], Iterator[Breach]]

    def findings(self, book: Book) -> list[Finding]:
        """Breaches in the plan."""
        return [_finding(self.code, breach, None) for breach in self.find(book)]


Rule = RouteRule | PlanRule


def _finding(code: str, breach: Breach, truck_id: str | None) -> Finding:
    truck_id = breach.truck_id or truck_id
    if breach.halt is None:
        return Finding(code, breach.text, truck_id, None, breach.place_id)
    stop = breach.halt.stop
    return Finding(code, breach.text, truck_id, stop.seq, stop.place_id)


def differs(stated: float, own: float, tolerance: float) -> bool:
    """Whether a stated figure is not the recomputed one, to a tolerance."""
    return not abs(stated - own) <= tolerance + 1e-9


def money_differs(stated: float, own: float) -> bool:
    """Whether a stated sum of money is off by more than rounding."""
    return differs(stated, own, MONEY + 1e-6 * abs(own))
