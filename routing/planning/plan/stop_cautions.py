"""Caution the crew about single stops: in the dark, in the cold, before a bridge that bears little more."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from routing.domain.operation import Operation
from routing.domain.places import Health, Yard
from routing.domain.plan import Plan, Route, Stop, Warning_
from routing.need.air.day_curve import air_at_c
from routing.need.air.sun import daylight
from routing.need.wording import Wording, count

DUSK = timedelta(minutes=5)
"""A choice: sunrise and sunset are known no better; less than this before or after is not called dark."""

NEAR_BRIDGE = 0.10
"""A choice: a bridge is cautioned where less than this share of its limit is to spare."""


def stop_cautions(operation: Operation, plan: Plan) -> Iterator[Warning_]:
    """Every caution that belongs to one stop of one truck, in the order of the stops."""
    for route in plan.routes:
        for stop in route.stops:
            if stop.kind == "yard":
                yard = operation.yards[stop.place_id]
                yield from _dark(operation, yard, route, stop)
                yield from _cold(operation, yard, route, stop)
                yield from _bridge(operation, yard, route, stop)
        yield from _empties(operation, route)


def _dark(operation: Operation, yard: Yard, route: Route, stop: Stop) -> Iterator[Warning_]:
    """Work before sunrise or after sunset of the place and date."""
    light = daylight(yard.position, stop.begin.date(), operation.timezone)
    if light is None:
        when = "the sun does not rise there on this date"
    elif stop.begin < light.rise - DUSK:
        when = f"sunrise there is at about {light.rise:%H:%M}"
    elif stop.leave > light.set + DUSK:
        when = f"sunset there is at about {light.set:%H:%M}"
    else:
        return
    yield Warning_(
        "dark",
        f"{yard.name}: worked from {stop.begin:%H:%M} to {stop.leave:%H:%M}, in the dark ({when}): "
        "lamps for everybody, and look over the ground on foot before you turn the truck.",
        yard.yard_id,
        route.truck_id,
    )


def _cold(operation: Operation, yard: Yard, route: Route, stop: Stop) -> Iterator[Warning_]:
    """Hives opened at an hour colder than liquid feed asks for."""
    words, least_c = Wording(operation.units), operation.feeding.min_feed_c
    air_c = air_at_c(yard, operation, stop.begin)
    if air_c >= least_c or not any(operation.feeders[p.feeder_id].opens_hive for p in stop.pour):
        return
    yield Warning_(
        "cold_hour",
        f"{yard.name}: about {words.temperature(air_c)} at {stop.begin:%H:%M}, under the "
        f"{words.temperature(least_c)} for opening hives: lift each lid only as long as it takes to pour, "
        "or come in the warmer hours of another day.",
        yard.yard_id,
        route.truck_id,
    )


def _bridge(operation: Operation, yard: Yard, route: Route, stop: Stop) -> Iterator[Warning_]:
    """A bridge or track that would not bear the truck, had it poured less on the way."""
    limit_kg = yard.max_gross_kg
    before = [s for s in route.stops if s.seq < stop.seq]
    if limit_kg is None or not before:
        return
    words, spare_kg = Wording(operation.units), limit_kg - before[-1].after.gross_kg
    filled = max((i for i, s in enumerate(before) if s.fill or s.kind == "start"), default=0)
    poured = [p for s in before[filled:] for p in s.pour]
    poured_kg = sum(p.volume_l * (operation.syrups[p.syrup_id].density_kg_per_l or 0.0) for p in poured)
    if not poured_kg or (spare_kg >= poured_kg and spare_kg > NEAR_BRIDGE * limit_kg):
        return
    heaviest = max(operation.syrups[p.syrup_id].density_kg_per_l or 0.0 for p in poured)
    yield Warning_(
        "bridge_slack",
        f"{yard.name}: bridge or track bears {words.gross(limit_kg)}, you come with "
        f"{words.gross(limit_kg - spare_kg)}: if you have skipped a stop since "
        f"{_place(operation, before[filled])}, or poured over {words.whole_below(spare_kg / heaviest)} less "
        "than planned since then, do not cross.",
        yard.yard_id,
        route.truck_id,
    )


def _place(operation: Operation, stop: Stop) -> str:
    places = operation.yards if stop.kind == "yard" else operation.depots
    return places[stop.place_id].name if stop.place_id in places else "the start"


def _empties(operation: Operation, route: Route) -> Iterator[Warning_]:
    """Empty pails from yards under watch: where they are cleaned before they go out again, and how long."""
    pails = {
        operation.yards[s.place_id].name: sum(p.pails for p in s.pour)
        for s in route.stops
        if s.kind == "yard" and operation.yards[s.place_id].health is Health.WATCH
    }
    number = sum(pails.values())
    if not number:
        return
    end = operation.depots[route.stops[-1].place_id].name
    names = " and ".join(name for name, pail in pails.items() if pail)
    yield Warning_(
        "watch_empties",
        f"{route.truck_id} brings {count(number, 'empty pail')} from {names}, under watch: keep them apart, "
        f"and scrub and disinfect them at {end} before they go out again, about "
        f"{number * operation.work.pail_clean_s / 60:.0f} min.",
        truck_id=route.truck_id,
    )
