"""Say what a re-plan changed: what each driver must be told now, what moved, and what is dropped."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from routing.domain.operation import Operation, place_key
from routing.domain.plan import Change, Plan, Route, Stop
from routing.log.day import DayNow, TruckNow
from routing.need.wording import sentence

LATER_S = 300
"""A truck that comes home within five minutes of what was told comes home as told (a choice)."""

WAY = {"start": "to refill at", "refill": "to refill at", "wash": "to wash down at", "end": "home to"}


def changes_between(
    operation: Operation, before: Plan, after: Plan, now: DayNow, yards_left: set[str]
) -> tuple[Change, ...]:
    """What is different for the rest of the day, the orders to the drivers first.

    ``before`` is the plan that was driven, ``yards_left`` the yards not done yet. Codes: ``tell`` (where a
    crew goes next), ``moved``, ``added`` and ``taken`` (yards), ``dropped``, ``reordered``, ``later`` and
    ``earlier`` (home).
    """
    was, is_ = _served(before, yards_left), _served(after, yards_left)
    return (
        *_orders(operation, before, after, now),
        *_moved(operation, was, is_, {left.yard_id for left in before.unserved if left.volume_l > 0}),
        *_dropped(operation, was, is_, after),
        *_reordered(was, is_),
        *_home(before, after),
    )


def _served(plan: Plan, yards_left: set[str]) -> dict[str, list[str]]:
    """The yards of each truck in order, of those that are left."""
    return {route.truck_id: _yards(route, yards_left) for route in plan.routes}


def _yards(route: Route, yards_left: set[str]) -> list[str]:
    seen = dict.fromkeys(s.place_id for s in route.stops if s.kind == "yard" and s.place_id in yards_left)
    return list(seen)


def _trucks_of(served: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    trucks: dict[str, list[str]] = {}
    for truck_id, yards in served.items():
        for yard_id in yards:
            trucks.setdefault(yard_id, []).append(truck_id)
    return trucks


def _yard_name(operation: Operation, yard_id: str) -> str:
    return operation.yards[yard_id].name or yard_id


def _moved(
    operation: Operation,
    was: Mapping[str, Sequence[str]],
    now: Mapping[str, Sequence[str]],
    given_up: Container[str],
) -> Iterator[Change]:
    before, after = _trucks_of(was), _trucks_of(now)
    for yard_id, trucks in after.items():
        name = _yard_name(operation, yard_id)
        for truck_id in trucks:
            if yard_id not in before:
                news = "can be fed after all, by" if yard_id in given_up else "is new today, for"
                yield Change("added", f"{name} {news} {truck_id}", truck_id, yard_id)
            elif truck_id not in before[yard_id]:
                told = " and ".join(before[yard_id])
                yield Change("moved", f"{name} goes from {told} to {truck_id}", truck_id, yard_id)
        for truck_id in before.get(yard_id, ()):
            if truck_id not in trucks:
                takers = " and ".join(trucks)
                text = f"{name} is no longer {truck_id}'s: {takers} feeds it"
                yield Change("taken", text, truck_id, yard_id)


def _dropped(
    operation: Operation, was: Mapping[str, Sequence[str]], now: Mapping[str, Sequence[str]], after: Plan
) -> Iterator[Change]:
    """Yards that were to be fed and are not, or only in part; told to every crew that had them."""
    before, still = _trucks_of(was), _trucks_of(now)
    for left in after.unserved:
        name = _yard_name(operation, left.yard_id)
        what = "is fed only in part" if left.yard_id in still else "is dropped"
        why = f"{left.reason}. {sentence(left.remedy)}"
        for truck_id in before.get(left.yard_id, ()):
            yield Change("dropped", f"{name} {what}: {why}", truck_id, left.yard_id)


def _reordered(was: Mapping[str, Sequence[str]], now: Mapping[str, Sequence[str]]) -> Iterator[Change]:
    for truck_id, yards in now.items():
        told = [y for y in was.get(truck_id, ()) if y in yards]
        kept = [y for y in yards if y in told]
        if told != kept:
            yield Change("reordered", f"{truck_id} drives its yards in another order", truck_id)


def _home(before: Plan, after: Plan) -> Iterator[Change]:
    told = {route.truck_id: route.end for route in before.routes}
    for route in after.routes:
        if route.truck_id in told:
            later_s = (route.end - told[route.truck_id]).total_seconds()
            if abs(later_s) > LATER_S:
                way = "later" if later_s > 0 else "earlier"
                clocks = [
                    f"{moment.astimezone(ZoneInfo(after.timezone)):%H:%M}"
                    for moment in (route.end, told[route.truck_id])
                ]
                text = f"{route.truck_id} is home at {clocks[0]}, not at {clocks[1]} as told before"
                yield Change(way, text, route.truck_id)


def _orders(operation: Operation, before: Plan, after: Plan, now: DayNow) -> Iterator[Change]:
    """Where every crew goes next; crews that have nothing more to do are told so."""
    for route in after.routes:
        text, place_id = _next(operation, after, route, now)
        yield Change("tell", f"{route.truck_id} {text}", route.truck_id, place_id)
    driving = {route.truck_id for route in after.routes}
    for route in before.routes:
        state = now.trucks.get(route.truck_id)
        if state is not None and route.truck_id not in driving and state.status != "finished":
            yield Change("tell", f"{route.truck_id} {_idle(operation, route, state)}", route.truck_id)


def _idle(operation: Operation, told: Route, state: TruckNow) -> str:
    """What a crew without a route is told."""
    if state.status == "out":
        words = f" ({state.out_words})" if state.out_words else ""
        return f"is out of action{words}: no stop is planned for it"
    if state.status == "not_started":
        return "stays at its depot: no stop is planned for it"
    depot_id = told.stops[-1].place_id
    home = _place(operation, told.stops[-1])
    if state.heading == place_key("depot", depot_id):
        return f"goes on home to {home}: it has no more stops"
    return f"has no more stops and is past its hours: rest, then home to {home}"


def _next(operation: Operation, after: Plan, route: Route, now: DayNow) -> tuple[str, str]:
    """What a crew does next, in words, and the id of the place."""
    start, first = route.stops[0], next(s for s in route.stops[1:] if s.kind != "break")
    rests = "takes its break, then " if route.stops[1].kind == "break" else ""
    state = now.trucks.get(route.truck_id)
    if not start.fill:
        if state is not None and state.underway and state.toward not in (None, state.place):
            return _under_way(operation, after, route, first, state), first.place_id
        return rests + _going(operation, after, first, state, first.arrive), first.place_id
    then = f"{rests or 'then '}to {_place(operation, first)}"
    if state is None or state.status == "not_started":
        return f"loads at {_place(operation, start)}, {then}", start.place_id
    return f"{_going(operation, after, start, state, start.arrive)}, {then}", start.place_id


def _under_way(operation: Operation, after: Plan, route: Route, first: Stop, state: TruckNow) -> str:
    """What a crew does that is on its way somewhere: a break is taken where it gets to."""
    rests = route.stops[1].kind == "break"
    if _key(first) == state.toward:
        there = _going(operation, after, first, state, route.stops[0].arrive)
        return f"{there}, and takes its break there first" if rests else there
    goes = _going(operation, after, first, state, first.arrive)
    way = f"by way of {_name(operation, state.toward or '')}"
    return f"goes on {way}, takes its break there, then {goes}" if rests else f"{goes}, {way}"


def _going(operation: Operation, after: Plan, stop: Stop, state: TruckNow | None, arrive: datetime) -> str:
    """Where to, and whether that is where the crew is going already."""
    key, place, way = _key(stop), _place(operation, stop), WAY.get(stop.kind, "to")
    if state is not None and state.place == key and not state.underway:
        return f"goes on at {place}" if stop.kind == "yard" else f"stays {way} {place}"
    by = arrive.astimezone(ZoneInfo(after.timezone))
    turn = "on" if state is not None and state.heading == key else "next"
    return f"goes {turn} {way} {place}, there by {by:%H:%M}"


def _key(stop: Stop) -> str:
    return place_key("yard" if stop.kind == "yard" else "depot", stop.place_id)


def _place(operation: Operation, stop: Stop) -> str:
    return _name(operation, _key(stop))


def _name(operation: Operation, key: str) -> str:
    """The name of a yard or depot, or its id."""
    kind, _, place_id = key.partition(":")
    place = (operation.yards if kind == "yard" else operation.depots).get(place_id)
    return (place.name if place else "") or place_id
