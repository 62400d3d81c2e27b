"""Rules on cautions: each stands where the facts call for it, and nowhere else.

Judged are code, place and truck. How a caution is worded is judged by ``words``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from routing.audit.evidence.book import Book, Replay
from routing.audit.rules.rule import Breach, PlanRule
from routing.audit.rules.totals import route_sums
from routing.domain.places import Health

Where = tuple[str | None, str | None]
"""Place id and truck id that a caution is about; both None for the whole day."""

NEAR_LIMIT = 0.98
"""Share of the legal gross mass from which a truck is to be weighed."""

PART_FULL = (0.2, 0.8)
"""Shares of its capacity between which an unbaffled tank surges (CDL manual, section 8: liquid surge)."""


def starving_unserved(book: Book) -> set[Where]:
    """Every starving yard that is left."""
    return {(left.yard_id, None) for left in book.plan.unserved if left.starving}


def quarantine(book: Book) -> set[Where]:
    """Every quarantined yard that is visited."""
    halts = (halt for route in book.routes for halt in route.halts)
    return {(h.stop.place_id, None) for h in halts if h.yard and h.yard.health is Health.QUARANTINE}


def near_legal_weight(book: Book) -> set[Where]:
    """Every truck that drives close to its legal gross mass."""
    return _trucks(book, lambda r: max(_stated_kg(r), default=0.0) >= NEAR_LIMIT * r.truck.gvwr_kg)


def _stated_kg(replay: Replay) -> list[float]:
    """Masses as printed: ``gross_stated`` holds them to a few grams."""
    return [halt.stop.after.gross_kg for halt in replay.halts]


def overtime(book: Book) -> set[Where]:
    """Every truck whose crew works overtime."""
    return _trucks(book, lambda r: (sums := route_sums(r)) is not None and sums.overtime_s > 0)


def surge(book: Book) -> set[Where]:
    """Every truck that drives with a part-full tank without baffles."""
    return _trucks(book, _surges)


def _surges(replay: Replay) -> bool:
    low, high = PART_FULL
    holds = {t.tank_id: t.capacity_l for t in replay.truck.tanks if not t.baffled}
    return any(
        low < level.volume_l / holds[tank_id] < high
        for halt in replay.halts[:-1]
        for tank_id, level in halt.after.tanks.items()
        if tank_id in holds
    )


def stings(book: Book) -> set[Where]:
    """The whole day, where anybody is sent out."""
    return {(None, None)} if book.plan.routes else set()


def robbing(book: Book) -> set[Where]:
    """The whole day, where robbing is high."""
    return {(None, None)} if book.operation.feeding.robbing == "high" else set()


def _trucks(book: Book, which: Callable[[Replay], bool]) -> set[Where]:
    return {(None, route.truck.truck_id) for route in book.routes if which(route)}


CALLED_FOR: Mapping[str, Callable[[Book], set[Where]]] = {
    "starving_unserved": starving_unserved,
    "quarantine": quarantine,
    "near_legal_weight": near_legal_weight,
    "overtime": overtime,
    "surge": surge,
    "stings": stings,
    "robbing": robbing,
}
"""By code of a caution, where the facts call for it."""


def missing(book: Book) -> Iterator[Breach]:
    """No caution that the facts call for is left out."""
    stated = _stated(book)
    for code, where in CALLED_FOR.items():
        for place_id, truck_id in sorted(where(book) - stated.get(code, set()), key=str):
            yield Breach(f"the caution {code} is missing", None, place_id, truck_id)


def untrue(book: Book) -> Iterator[Breach]:
    """No caution stands that the facts do not call for."""
    for code, where in _stated(book).items():
        if code in CALLED_FOR:
            for place_id, truck_id in sorted(where - CALLED_FOR[code](book), key=str):
                yield Breach(f"nothing calls for the caution {code}", None, place_id, truck_id)


def _stated(book: Book) -> dict[str, set[Where]]:
    found: dict[str, set[Where]] = {}
    for warning in book.plan.warnings:
        found.setdefault(warning.code, set()).add((warning.place_id, warning.truck_id))
    return found


RULES = (
    PlanRule("caution_missing", "No caution that the facts call for is left out.", missing),
    PlanRule("caution_untrue", "No caution stands that the facts do not call for.", untrue),
)
