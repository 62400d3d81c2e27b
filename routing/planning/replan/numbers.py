"""Keep the numbers that crews know their stops by when the rest of a day is planned anew."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.plan import Plan, Route, Stop


def numbered(plan: Plan, before: Plan) -> Plan:
    """The plan of the rest of a day with every yard stop numbered for its crew.

    A stop that the truck had before keeps its number; a new one takes the next that was never used on this
    truck today, so that no number ever means two stops.
    """
    known = {route.truck_id: route for route in before.routes}
    routes = tuple(_route(route, known.get(route.truck_id)) for route in plan.routes)
    return replace(plan, routes=routes)


def _route(route: Route, before: Route | None) -> Route:
    had = _numbers(before) if before else []
    left: dict[str, list[int]] = {}
    for place_id, number in had:
        left.setdefault(place_id, []).append(number)
    again = [stop.place_id for stop in route.stops if stop.kind == "yard"]
    # Of a yard visited several times the last visits are those still to come.
    kept = {place: numbers[-again.count(place) :] for place, numbers in left.items() if place in again}
    latest = max((number for _, number in had), default=0)
    stops: list[Stop] = []
    for stop in route.stops:
        number = 0
        if stop.kind == "yard":
            own = kept.get(stop.place_id)
            if own:
                number = own.pop(0)
            else:
                latest += 1
                number = latest
        stops.append(replace(stop, number=number))
    return replace(route, stops=tuple(stops))


def _numbers(route: Route) -> list[tuple[str, int]]:
    """Yard and number of every visit, counted from 1 where the plan gives none."""
    yards = [stop for stop in route.stops if stop.kind == "yard"]
    return [(stop.place_id, stop.number or i) for i, stop in enumerate(yards, start=1)]
