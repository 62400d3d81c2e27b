"""Rules on cautions: each stands where the facts call for it, and nowhere else.

Judged are code, place and truck. How a caution is worded is judged by ``words``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta

from routing.audit.evidence.book import Book, Halt, Replay
from routing.audit.evidence.sun import DOUBT, sunlight
from routing.audit.rules.rule import Breach, PlanRule
from routing.audit.rules.totals import route_sums
from routing.domain.places import Foulbrood, Health, Priority

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


def foulbrood(book: Book) -> set[Where]:
    """Every yard with foulbrood that is visited: each is a quarantined one."""
    yards = book.operation.yards
    return {
        (place, None) for place, _ in quarantine(book) if yards[place or ""].foulbrood is not Foulbrood.NO
    }


def must_unserved(book: Book) -> set[Where]:
    """Every yard that the keeper wants fed today and that is left; the starving have their own caution."""
    found: set[Where] = set()
    for left in book.plan.unserved:
        yard = book.operation.yards.get(left.yard_id)
        if yard is None or left.starving:
            continue
        named = left.yard_id in book.plan.must or bool(yard.called_in)
        if named or (yard.priority is Priority.MUST and left.unfed):
            found.add((left.yard_id, None))
    return found


def watch_empties(book: Book) -> set[Where]:
    """Every truck that swaps pails in a yard under watch: it brings empties."""
    return _trucks(book, lambda r: any(h.stop.pour and _swaps_under_watch(h) for h in r.halts))


def _swaps_under_watch(halt: Halt) -> bool:
    watched = halt.yard is not None and halt.yard.health is Health.WATCH
    return watched and any(pour.pails for pour in halt.stop.pour)


def bridge_slack(book: Book) -> set[Where]:
    """Every yard whose bridge would not bear the truck, had it skipped a stop or poured a little less."""
    return {
        (halt.stop.place_id, route.truck.truck_id)
        for route in book.routes
        for i, halt in enumerate(route.halts)
        if halt.stop.kind == "yard" and _bears_little_more(route, i)
    }


def _bears_little_more(route: Replay, i: int) -> bool:
    """Whether what was poured since the last loading, or a tenth of the limit, would be too much there."""
    halt = route.halts[i]
    if halt.yard is None or halt.yard.max_gross_kg is None:
        return False
    most_kg = halt.yard.max_gross_kg
    poured_kg = 0.0
    for before in reversed(route.halts[:i]):
        poured_kg += sum(p.volume_l * route.book.density(p.syrup_id) for p in before.stop.pour)
        if before.stop.fill or before.stop.kind == "start":
            break
    spare_kg = most_kg - halt.gross_in_kg
    return poured_kg > 0 and (spare_kg < poured_kg or spare_kg <= BRIDGE_SHARE * most_kg)


BRIDGE_SHARE = 0.10
"""Share of a bridge's limit under which what is spare is cautioned."""


def surely_dark(book: Book) -> set[Where]:
    """Every yard surely worked before sunrise or after sunset."""
    return _outside_daylight(book, DUSK + DOUBT)


def maybe_dark(book: Book) -> set[Where]:
    """Every yard that may be worked before sunrise or after sunset."""
    return _outside_daylight(book, DUSK - DOUBT)


def _outside_daylight(book: Book, by: timedelta) -> set[Where]:
    found: set[Where] = set()
    for route in book.routes:
        for halt, times in route.timed():
            if halt.yard is None or halt.stop.kind != "yard":
                continue
            begins, leaves = book.clock.at(times.begin_s), book.clock.at(times.leave_s)
            light = sunlight(halt.yard.position, begins.date(), book.operation.timezone)
            if light and (begins < light[0] - by or leaves > light[1] + by):
                found.add((halt.stop.place_id, route.truck.truck_id))
    return found


DUSK = timedelta(minutes=5)
"""Less than this before sunrise or after sunset is not called dark."""


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
    "must_unserved": must_unserved,
    "quarantine": quarantine,
    "foulbrood": foulbrood,
    "watch_empties": watch_empties,
    "bridge_slack": bridge_slack,
    "dark": surely_dark,
    "near_legal_weight": near_legal_weight,
    "overtime": overtime,
    "surge": surge,
    "stings": stings,
    "robbing": robbing,
}
"""By code of a caution, where the facts call for it."""


ALLOWED: Mapping[str, Callable[[Book], set[Where]]] = {"dark": maybe_dark}
"""Where a caution may stand besides: the hour of sunset is known to a few minutes only."""


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
            called_for = ALLOWED.get(code, CALLED_FOR[code])(book)
            for place_id, truck_id in sorted(where - called_for, key=str):
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
