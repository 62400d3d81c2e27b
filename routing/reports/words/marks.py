"""Name every stop of a route the way all outputs name it: 1, 2, 3 for yards, R1 for a refill."""

from __future__ import annotations

from collections import Counter

from routing.domain.plan import Plan, Route, Stop

PREFIX = {"start": "START", "end": "END", "refill": "R", "wash": "W", "break": "BR"}
KIND_WORDS = {
    "start": "Load-out",
    "yard": "Yard",
    "refill": "Refill",
    "wash": "Wash-down",
    "break": "Break",
    "end": "Back",
}


def stop_marks(route: Route) -> dict[int, str]:
    """The mark of each stop by its ``seq``: yards count 1, 2, 3 in visiting order, refills R1, R2.

    On a re-plan a yard keeps the number that its crew knows it by.
    """
    counts: Counter[str] = Counter()
    marks = {}
    for stop in route.stops:
        counts[stop.kind] += 1
        if stop.kind in ("start", "end"):
            marks[stop.seq] = PREFIX[stop.kind]
        else:
            marks[stop.seq] = f"{PREFIX.get(stop.kind, '')}{stop.number or counts[stop.kind]}"
    return marks


def visits(plan: Plan) -> dict[str, tuple[tuple[str, str], ...]]:
    """Every visit of each yard as (truck id, mark), in the order of the day: a split yard has several."""
    found: list[tuple[Stop, str, str]] = []
    for route in plan.routes:
        marks = stop_marks(route)
        found += [(s, route.truck_id, marks[s.seq]) for s in route.stops if s.kind == "yard"]
    found.sort(key=lambda item: (item[0].arrive, item[1]))
    by_yard: dict[str, list[tuple[str, str]]] = {}
    for stop, truck_id, mark in found:
        by_yard.setdefault(stop.place_id, []).append((truck_id, mark))
    return {yard_id: tuple(items) for yard_id, items in by_yard.items()}
