"""Gather what the map draws, as plain values ready for JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from routing.domain.fleet import HERE
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan, Route, Stop
from routing.domain.travel import Travel
from routing.reports.map.lines import LonLat, Point, lanes, network, packed, whole
from routing.reports.map.rows import HEALTH_WORDS, Row, Word, short
from routing.reports.words.truck_style import LOOKS, TruckStyle

AT_DEPOTS = {"start", "refill", "wash", "break", "end"}
MINOR_ROAD = 1
"""Class of a road of which nothing is known but its line (``Travel.roads``)."""


def map_data(
    operation: Operation,
    plan: Plan,
    travel: Travel,
    styles: Sequence[TruckStyle],
    rows: Sequence[Sequence[Row]],
) -> dict[str, Any]:
    """Everything drawn, by kind. ``styles`` and ``rows`` stand in the order of ``plan.routes``."""
    legs = [_legs(route, travel) for route in plan.routes]
    lane_of = iter(lanes([points for route_legs in legs for _, points in route_legs]))
    trucks = [
        {
            "letter": style.letter,
            "color": style.color,
            "shape": style.shape,
            "stops": [_stop(row, n) for n, row in enumerate(truck_rows)],
            "legs": [
                {
                    "trip": truck_rows[i].trip,
                    "spoke": {truck_rows[i].kind, truck_rows[i - 1].kind} & AT_DEPOTS != set(),
                    "line": packed(points),
                    "lane": next(lane_of),
                }
                for i, points in route_legs
            ],
        }
        for style, truck_rows, route_legs in zip(styles, rows, legs, strict=True)
    ]
    return {
        "looks": LOOKS,
        "trucks": trucks,
        # A place made for a truck in mid-day is no depot: the truck's own sign stands there.
        "depots": [_depot(operation, d, rows) for d in operation.depots if not d.startswith(HERE)],
        "left": _left(operation, plan),
        "roads": _roads(travel),
    }


def _roads(travel: Travel) -> list[dict[str, Any]]:
    """The quiet layer under the routes: roads by class, main roads first; else whatever lines are known."""
    if not travel.roads:
        return [{"rank": MINOR_ROAD, "line": packed(road)} for road in network(travel.lines.values())]
    ranks = sorted({rank for rank, _ in travel.roads})
    return [
        {"rank": rank, "line": packed(road)}
        for rank in ranks
        for road in network(line for of_rank, line in travel.roads if of_rank == rank)
    ]


def _legs(route: Route, travel: Travel) -> list[tuple[int, list[Point]]]:
    """Number of the stop a leg ends at, and its line; legs that go nowhere are left out."""
    found = []
    for i, (before, stop) in enumerate(zip(route.stops, route.stops[1:], strict=False), start=1):
        points = whole(_geometry(route.truck_id, before, stop, travel))
        if len(points) > 1:
            found.append((i, points))
    return found


def _geometry(truck_id: str, before: Stop, stop: Stop, travel: Travel) -> Sequence[LonLat]:
    if len(stop.leg.geometry) > 1:
        return stop.leg.geometry
    straight = ((before.lon, before.lat), (stop.lon, stop.lat))
    return travel.lines.get((_place(before, travel), _place(stop, travel)), straight)


def _place(stop: Stop, travel: Travel) -> str:
    yard = place_key("yard", stop.place_id)
    # A break at a yard keeps the yard's id; at a depot, the depot's.
    at_yard = stop.kind == "yard" or (stop.kind == "break" and yard in travel.places)
    return yard if at_yard else place_key("depot", stop.place_id)


def _stop(row: Row, order: int) -> dict[str, Any]:
    return {
        "key": row.key,
        "kind": "here" if row.underway else row.kind,
        "n": row.number,
        "order": order,
        "trip": row.trip,
        "lat": row.lat,
        "lon": row.lon,
        "name": f"{row.lead} {short(row.name)}" if row.underway else short(row.name),
        "flag": row.flag,
        "fresh": any(word.kind == "new" for word in row.words),
        "pause": row.pause,
        "say": row.spoken,
    }


def _depot(operation: Operation, depot_id: str, rows: Sequence[Sequence[Row]]) -> dict[str, Any]:
    """A depot, with the trucks that call there, and what each of them does there when."""
    depot = operation.depots[depot_id]
    name = short(depot.name or depot_id)
    calls = [[row for row in truck if row.place_id == depot_id and row.kind in AT_DEPOTS] for truck in rows]
    can = [word for word, holds in (("base", depot.base), ("wash-down", depot.wash_down)) if holds]
    return {
        "key": f"d{depot_id}",
        "keys": [row.key for truck in calls for row in truck],
        "lat": depot.position.lat,
        "lon": depot.position.lon,
        "name": name,
        "base": depot.base,
        "trucks": [i for i, truck in enumerate(calls) if truck],
        "times": {i: ", ".join(_call(row) for row in truck) for i, truck in enumerate(calls) if truck},
        "say": f"{name}. {', '.join(can) or 'depot'}",
    }


def _call(row: Row) -> str:
    """``out 07:48``, ``refill 12:52``, ``back 18:35``."""
    return f"out {row.leave}" if row.kind == "start" else f"{row.lead.lower()} {row.at}"


def _left(operation: Operation, plan: Plan) -> list[dict[str, Any]]:
    """Yards of ``unserved`` that no truck visits; a yard fed in part has its stop already."""
    visited = {stop.place_id for route in plan.routes for stop in route.stops if stop.kind == "yard"}
    found = []
    for i, left in enumerate(plan.unserved):
        yard = operation.yards.get(left.yard_id)
        if yard is None or left.yard_id in visited:
            continue
        words = [Word("starving", "STARVING")] * left.starving
        words += [Word(yard.health.value, HEALTH_WORDS[yard.health])] if yard.health in HEALTH_WORDS else []
        said = ["NOT FED" if left.unfed else "Needs nothing", *(word.text for word in words)]
        found.append(
            {
                "key": f"u{i}",
                "unfed": left.unfed,
                "lat": yard.position.lat,
                "lon": yard.position.lon,
                "name": short(yard.name or yard.yard_id),
                "flag": words[0].sign if words else "",
                "say": ". ".join((" ".join(said), short(yard.name or yard.yard_id), left.reason)),
            }
        )
    return found
