"""Rules on the shape of a plan: known ids, one route a truck, stops in order, the day it was made for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise
from math import isclose
from typing import Any

from routing.audit.evidence.book import Book, Replay, rows_of
from routing.audit.rules.rule import Breach, PlanRule, RouteRule, differs
from routing.domain.plan import SCHEMA, Stop

DEGREES = 1e-6


def heading(book: Book) -> Iterator[Breach]:
    """The plan is for this operation, in its time zone, units and currency, with its drives."""
    plan, op = book.plan, book.operation
    for what, stated, own in (
        ("schema", plan.schema, SCHEMA),
        ("operation", plan.operation, op.name),
        ("time zone", plan.timezone, op.timezone),
        ("units", plan.units, op.units),
        ("currency", plan.currency, op.currency),
        ("travel", plan.travel, book.travel.provenance.note),
    ):
        if stated != own:
            yield Breach(f"the plan's {what} is {stated!r}, not {own!r}")


def assumptions(book: Book) -> Iterator[Breach]:
    """The plan lists every setting it rests on, with the value, unit and source that the operation has.

    What was measured with the drives goes before the operation's own.
    """
    own, stated = {**book.operation.assumptions(), **book.travel.measured}, book.plan.assumptions
    for key in own.keys() - stated.keys():
        yield Breach(f"the plan does not say that it rests on {key} = {own[key].value}")
    for key in stated.keys() - own.keys():
        yield Breach(f"the plan rests on {key}, which is no setting of the operation")
    for key in own.keys() & stated.keys():
        wrong, right = stated[key], own[key]
        if not _same(_plain(wrong.value), _plain(right.value)):
            yield Breach(f"the plan rests on {key} = {wrong.value}; the operation has {right.value}")
        if (wrong.unit, wrong.source) != (right.unit, right.source):
            yield Breach(f"{key}: {wrong.unit}, {wrong.source}; the operation: {right.unit}, {right.source}")


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _same(stated: Any, own: Any) -> bool:
    """Equal, or numbers alike to the six decimals that plan.json holds."""
    if isinstance(stated, bool) or isinstance(own, bool):
        return stated is own
    numbers = isinstance(stated, int | float) and isinstance(own, int | float)
    return stated == own or (numbers and isclose(stated, own, rel_tol=1e-9, abs_tol=1e-6))


def unknown_id(book: Book) -> Iterator[Breach]:
    """Every truck, place, tank, feeder and syrup named is one that the operation has."""
    op = book.operation
    for route in book.plan.routes:
        if route.truck_id not in op.trucks:
            yield Breach(f"no truck is called {route.truck_id!r}", truck_id=route.truck_id)
    for truck_id in book.plan.trucks:
        if truck_id not in op.trucks:
            yield Breach(f"no truck is called {truck_id!r}", truck_id=truck_id)
    for replay in book.routes:
        for halt in replay.halts:
            for text in _strangers(book, replay, halt.stop, halt.yard is None and halt.depot is None):
                yield Breach(text, halt, truck_id=replay.truck.truck_id)
    for left in book.plan.unserved:
        if left.yard_id not in op.yards:
            yield Breach(f"no yard is called {left.yard_id!r}", place_id=left.yard_id)


def _strangers(book: Book, replay: Replay, stop: Stop, nowhere: bool) -> Iterator[str]:
    op = book.operation
    if nowhere:
        kind = "yard" if stop.kind == "yard" else "depot"
        yield f"a {stop.kind} stands at {stop.place_id!r}, which is no {kind}"
    tanks = {t.tank_id for t in replay.truck.tanks}
    for row in rows_of(stop):
        if row.syrup_id not in op.syrups:
            yield f"no syrup is called {row.syrup_id!r}"
        if row.tank_id is not None and row.tank_id not in tanks:
            yield f"the truck has no tank {row.tank_id!r}"
    for pour in stop.pour:
        if pour.feeder_id not in op.feeders:
            yield f"no feeder is called {pour.feeder_id!r}"


def truck_twice(book: Book) -> Iterator[Breach]:
    """A truck drives at most one route."""
    for truck_id, count in Counter(route.truck_id for route in book.plan.routes).items():
        if count > 1:
            yield Breach(f"truck {truck_id} has {count} routes on one day", truck_id=truck_id)


def empty_route(book: Book) -> Iterator[Breach]:
    """A route has a start, an end and a yard between them; a truck in mid-day may only drive home."""
    for route in book.plan.routes:
        truck = book.operation.trucks.get(route.truck_id)
        if truck is not None and truck.underway is not None and len(route.stops) >= 2:
            continue
        if len(route.stops) < 3 or not any(stop.kind == "yard" for stop in route.stops):
            yield Breach(f"truck {route.truck_id} goes to no yard", truck_id=route.truck_id)


def truck_available(replay: Replay) -> Iterator[Breach]:
    """A truck is used only on a day when it is to be had, and where the plan may send it out."""
    if replay.truck not in replay.book.trucks():
        yield Breach(f"truck {replay.truck.truck_id} is not available on {replay.book.plan.date}")


def route_ends(replay: Replay) -> Iterator[Breach]:
    """A route starts at the truck's start depot, ends at its end depot, and does neither in between."""
    stops, truck = replay.route.stops, replay.truck
    if not stops:
        return
    for stop, kind, depot_id in ((stops[0], "start", truck.start_depot), (stops[-1], "end", truck.end_depot)):
        if stop.kind != kind or stop.place_id != depot_id:
            yield Breach(f"the route's {kind} is {stop.kind} at {stop.place_id}, not at depot {depot_id}")
    for halt in replay.halts[1:-1]:
        if halt.stop.kind in ("start", "end"):
            yield Breach(f"a route has no {halt.stop.kind} on the way", halt)


def stop_order(replay: Replay) -> Iterator[Breach]:
    """Stops are numbered one by one."""
    stops = replay.route.stops
    if stops and stops[0].seq not in (0, 1):
        yield Breach(f"the first stop is number {stops[0].seq}", replay.halts[0])
    for before, halt in zip(stops, replay.halts[1:], strict=False):
        if halt.stop.seq != before.seq + 1:
            yield Breach(f"stop {halt.stop.seq} follows stop {before.seq}", halt)


def stop_number(replay: Replay) -> Iterator[Breach]:
    """A re-plan numbers its yard stops, and they alone, as their crew knows them: none means two stops."""
    counts = [halt.stop.number for halt in replay.halts if halt.stop.kind == "yard"]
    others = any(halt.stop.number for halt in replay.halts if halt.stop.kind != "yard")
    known = bool(replay.book.plan.replaces) and min(counts, default=1) > 0 and len(set(counts)) == len(counts)
    if others or (any(counts) and not known):
        yield Breach(f"yard stops have the numbers {counts}", truck_id=replay.truck.truck_id)


def position(replay: Replay) -> Iterator[Breach]:
    """A stop lies where the operation has its place."""
    for halt in replay.halts:
        place = halt.yard or halt.depot
        if place is None:
            continue
        lat, lon = place.position.lat, place.position.lon
        if differs(halt.stop.lat, lat, DEGREES) or differs(halt.stop.lon, lon, DEGREES):
            yield Breach(f"the stop is drawn at {halt.stop.lat}, {halt.stop.lon}, not at {lat}, {lon}", halt)


def density(book: Book) -> Iterator[Breach]:
    """The density of every syrup carried is near that of the published tables."""
    used = {row.syrup_id for r in book.routes for h in r.halts for row in rows_of(h.stop)}
    for syrup_id in sorted(used & set(book.operation.syrups)):
        syrup = book.operation.syrups[syrup_id]
        stated = syrup.density_kg_per_l
        if stated is None:
            yield Breach(f"no density is known for syrup {syrup_id}")
            continue
        warm = 0.0 if syrup.temperature_c is None else syrup.temperature_c - 20.0
        own = expected_density(syrup.kind.value, syrup.solids) * (1 - EXPANSION_PER_C * warm)
        share = TOLERATED.get(syrup.kind.value)
        if share is not None and abs(stated / own - 1) > share:
            yield Breach(f"syrup {syrup_id} is given {stated:.4f} kg/L; tables have about {own:.4f}")


SUCROSE_KG_PER_L: Mapping[float, float] = {
    0.0: 0.9982, 0.10: 1.0381, 0.20: 1.0810, 0.30: 1.1270, 0.40: 1.1765, 0.50: 1.2295, 0.60: 1.2864,
    0.66: 1.3224, 0.68: 1.3348, 0.70: 1.3472,
}  # fmt: skip
"""20 C, CRC Handbook, "Concentrative properties of aqueous solutions", sucrose; beyond 70 % drawn on."""

HFCS_KG_PER_L: Mapping[str, tuple[float, float]] = {"hfcs42": (0.71, 1.3457), "hfcs55": (0.77, 1.3830)}
"""Solids and density at 21 C: "Alternative Sweeteners", chapter on high-fructose corn syrup, table 5."""

EXPANSION_PER_C = 3.8e-4
"""Share of density lost per degree: 2:1 sucrose, 1.33 % from 0 to 35 C."""

TOLERATED: Mapping[str, float] = {"sucrose": 0.01, "hfcs42": 0.015, "hfcs55": 0.015, "invert": 0.03}


def expected_density(kind: str, solids: float) -> float:
    """kg/L at 20 C from coarse tables that owe nothing to the formula the plan was made with."""
    if kind in HFCS_KG_PER_L:
        at, known = HFCS_KG_PER_L[kind]
        return known * _sucrose(solids) / _sucrose(at)
    return _sucrose(solids)


def _sucrose(solids: float) -> float:
    points = list(SUCROSE_KG_PER_L.items())
    pairs = list(pairwise(points))
    (x0, y0), (x1, y1) = next((p for p in pairs if solids <= p[1][0]), pairs[-1])
    return y0 + (y1 - y0) * (solids - x0) / (x1 - x0)


RULES = (
    PlanRule("heading", "The plan is for this operation, its time zone, units and currency.", heading),
    PlanRule("assumption_changed", "The plan lists the settings it rests on, as they are.", assumptions),
    PlanRule("unknown_id", "Every truck, place, tank, feeder and syrup named is known.", unknown_id),
    PlanRule("truck_twice", "No truck drives two routes.", truck_twice),
    PlanRule("empty_route", "Every route goes to a yard.", empty_route),
    RouteRule("truck_available", "Every truck used is available on the date.", truck_available),
    RouteRule("route_ends", "Every route starts and ends at the depots of its truck.", route_ends),
    RouteRule("stop_order", "The stops of a route are numbered one by one.", stop_order),
    RouteRule("stop_number", "On a re-plan no number means two yard stops of a truck.", stop_number),
    RouteRule("position", "Every stop lies where its place lies.", position),
    PlanRule("density", "The density of every syrup carried agrees with published tables.", density),
)
