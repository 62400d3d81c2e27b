"""Add to a re-plan what the day itself gives cause to beware of: silence, breaks overdue, yards passed by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from routing.domain.day import DayNow, TruckNow
from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Warning_


def day_cautions(operation: Operation, now: DayNow, plan: Plan) -> Plan:
    """The re-plan with the cautions of the moment it was made at, before all others."""
    found = [
        *(w for truck in now.trucks.values() for w in _truck(operation, plan, truck)),
        *_passed(operation, now, plan),
    ]
    return replace(plan, warnings=(*found, *plan.warnings))


def _truck(operation: Operation, plan: Plan, truck: TruckNow) -> Iterator[Warning_]:
    if truck.silent:
        yield Warning_("silent", _silence(operation, plan, truck), truck_id=truck.truck_id)
    shift = operation.shift
    overdue_s = shift.break_overdue_s(truck.since_break_s, truck.driving_since_pause_s)
    if truck.status == "working" and overdue_s:
        driving = shift.break_clock == "driving"
        spent_s = truck.driving_since_pause_s if driving else truck.since_break_s
        route = next((r for r in plan.routes if r.truck_id == truck.truck_id), None)
        yield Warning_(
            "break_overdue",
            f"{truck.truck_id} is overdue for its break: {_hours(spent_s)} of "
            f"{'driving' if driving else 'work'} since the start or the last break that was noted, "
            f"{_hours(shift.break_after_s)} allowed. {_rest(plan, route)} The hours-of-service rules that "
            "bind you decide, not this plan.",
            truck_id=truck.truck_id,
        )


def _silence(operation: Operation, plan: Plan, truck: TruckNow) -> str:
    since = f"since {_clock(plan, truck.heard)}" if truck.heard else "today"
    if truck.status == "not_started":
        where = "still at its depot, not started"
    elif truck.underway and truck.heading and truck.heading != truck.place:
        where = f"still on its way to {_place(operation, truck.heading)}"
    else:
        where = f"still at {_place(operation, truck.place)}"
    return (
        f"nothing heard from {truck.truck_id} {since}: taken to be {where}. Ask where it is before it is "
        "told to go on; note what it has done since, and plan again."
    )


def _rest(plan: Plan, route: Route | None) -> str:
    """When the crew rests by the new plan."""
    pause = next((stop for stop in route.stops if stop.kind == "break"), None) if route else None
    if pause is None:
        return "Rest before driving on."
    return f"It rests at {_clock(plan, pause.begin)} by this plan, earlier where it can."


def _passed(operation: Operation, now: DayNow, plan: Plan) -> Iterator[Warning_]:
    """Yards that a crew drove past without a word: taken to be unfed."""
    takers = {stop.place_id: r.truck_id for r in plan.routes for stop in r.stops if stop.kind == "yard"}
    for gap in now.gaps:
        if gap.code != "passed_over":
            continue
        yard_id = gap.place.partition(":")[2]
        again = f"planned again, for {takers[yard_id]}" if yard_id in takers else "not planned again"
        yield Warning_(
            "passed_by",
            f"{_place(operation, gap.place)} was passed by, with no word from {gap.truck_id}: taken to be "
            f"unfed and {again}. If it was fed or skipped, note that and plan again.",
            yard_id,
        )


def _place(operation: Operation, key: str | None) -> str:
    kind, _, place_id = (key or "").partition(":")
    place = (operation.yards if kind == "yard" else operation.depots).get(place_id)
    return (place.name if place else "") or place_id or "an unknown place"


def _clock(plan: Plan, moment: datetime) -> str:
    return f"{moment.astimezone(ZoneInfo(plan.timezone)):%H:%M}"


def _hours(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
