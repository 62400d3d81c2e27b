"""Add to a re-plan what the day itself gives cause to beware of: silence, breaks overdue, yards passed by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan, Route, Warning_
from routing.domain.ration import Dose, YardNeed
from routing.log.day import DayNow, TruckNow, YardNow
from routing.need.wording import Wording, count, sentence

CUP_L = 0.05
"""Less than this is no difference that anybody pours (a choice)."""


def day_cautions(operation: Operation, needs: Sequence[YardNeed], now: DayNow, plan: Plan) -> Plan:
    """The re-plan with the cautions of the moment it was made at, before all others.

    ``needs`` are those of the rest of the day, what was called in among them.
    """
    found = [
        *(w for truck in now.trucks.values() for w in _truck(operation, plan, truck, now.now)),
        *_passed(operation, now, plan),
        *_called(operation, needs, now, plan),
    ]
    return replace(plan, warnings=(*found, *plan.warnings))


def _truck(operation: Operation, plan: Plan, truck: TruckNow, now: datetime) -> Iterator[Warning_]:
    if truck.silent:
        text, to_crew = _silence(operation, plan, truck), _heard_nothing(plan, truck)
        yield Warning_("silent", text, truck_id=truck.truck_id, to_crew=to_crew)
    if truck.status != "working":
        return
    shift, route = operation.shift, next((r for r in plan.routes if r.truck_id == truck.truck_id), None)
    # A crew on its way can rest by the plan when it gets there, and not before.
    ahead_s = max(0, round((route.start - now).total_seconds())) if route and truck.underway else 0
    worked_s, driven_s = truck.since_break_s, truck.driving_since_pause_s
    if shift.break_overdue_s(worked_s, driven_s):
        spent = driven_s if shift.break_clock == "driving" else worked_s
        what = f"{_hours(spent)} of {_clocked(operation)}, {_hours(shift.break_after_s)} allowed. "
        text = f"{truck.truck_id} is overdue for its break: {what}{_rest(plan, route, 'it rests')}"
        to_crew = f"Your break is overdue: {what}{_rest(plan, route, 'you rest')}"
    elif late_s := shift.break_overdue_s(worked_s + ahead_s, driven_s + ahead_s):
        late = _hours(max(60, late_s))
        where = f"to {_place(operation, truck.toward)} {late} after"
        due = f"break is due ({_hours(shift.break_after_s)} of {_clocked(operation)}): rest on the way."
        text = f"{truck.truck_id} gets {where} its {due}"
        to_crew = f"You get {where} your {due}"
    else:
        return
    bound = " The hours-of-service rules that bind you decide, not this plan."
    yield Warning_("break_overdue", text + bound, truck_id=truck.truck_id, to_crew=to_crew + bound)


def _clocked(operation: Operation) -> str:
    what = "driving" if operation.shift.break_clock == "driving" else "work"
    return f"{what} since the start or the last break that was noted"


def _silence(operation: Operation, plan: Plan, truck: TruckNow) -> str:
    since = f"since {_clock(plan, truck.heard)}" if truck.heard else "today"
    if truck.status == "not_started":
        where = "still at its depot, not started"
    elif truck.underway and truck.toward and truck.toward != truck.place:
        where = f"still on its way to {_place(operation, truck.toward)}"
    else:
        where = f"still at {_place(operation, truck.place)}"
    return (
        f"Nothing heard from {truck.truck_id} {since}: taken to be {where}. Ask where it is before it is "
        "told to go on; note what it has done since, and plan again."
    )


def _heard_nothing(plan: Plan, truck: TruckNow) -> str:
    """What a crew that fell silent reads on its own sheet."""
    since = f" since {_clock(plan, truck.heard)}" if truck.heard else " today"
    return (
        f"The office has heard nothing from you{since}: call base before you go on, and say what you have "
        "done since. This sheet may count as left what you have done."
    )


def _rest(plan: Plan, route: Route | None, rests: str) -> str:
    """When the crew rests by the new plan."""
    pause = next((stop for stop in route.stops if stop.kind == "break"), None) if route else None
    if route is None or pause is None:
        return "Rest before driving on."
    if route.stops[1] is not pause or route.stops[0].fill:
        return f"By this plan {rests} at {_clock(plan, pause.begin)}."
    return f"By this plan {rests} first, at {_clock(plan, pause.begin)}."


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


def _called(operation: Operation, needs: Sequence[YardNeed], now: DayNow, plan: Plan) -> Iterator[Warning_]:
    """Yards that were called in: what crews must know of them; which get less than was asked, or nothing."""
    served = {stop.place_id for route in plan.routes for stop in route.stops if stop.kind == "yard"}
    left = {unserved.yard_id: unserved for unserved in plan.unserved}
    doses = {need.yard_id: need.doses for need in needs}
    for yard_id, known in now.yards.items():
        if not known.urgent:
            continue
        if yard_id in served:
            yield Warning_("urgent", _call(operation, plan, known), yard_id)
        name, given = _place(operation, place_key("yard", yard_id)), doses.get(yard_id, ())
        if yard_id in left:
            why = left[yard_id]
            part = " in full" if yard_id in served else ""
            text = f"{name} was called in and is not fed{part} today: {why.reason}. {sentence(why.remedy)}"
            yield Warning_("call_unmet", text, yard_id)
        elif known.status == "done":
            text = f"{name} was called in, but it was fed in full already: nothing more is planned there."
            yield Warning_("call_unmet", text, yard_id)
        if given and (short := _short(operation, known, given)):
            yield Warning_("call_short", f"{name} was called in for {short}", yard_id)


def _call(operation: Operation, plan: Plan, known: YardNow) -> str:
    """``URGENT: bees hang out (called in at 11:05, 20 gal in all)``."""
    say = Wording(operation.units).amount
    asked = ["called in" + (f" at {_clock(plan, known.urgent_at)}" if known.urgent_at else "")]
    if known.urgent_colonies is not None:
        asked.append(count(known.urgent_colonies, "colony"))
    if known.urgent_each_l is not None:
        asked.append(f"{say(known.urgent_each_l)} each")
    if known.urgent_total_l is not None:
        asked.append(f"{say(known.urgent_total_l)} in all")
    told = ", ".join(asked)
    return f"URGENT: {known.urgent_words} ({told})" if known.urgent_words else f"URGENT: {told}"


def _short(operation: Operation, known: YardNow, given: Sequence[Dose]) -> str:
    """What was asked for and what the feeders take of it; nothing where that is the same."""
    say = Wording(operation.units).volume
    colonies, litres = sum(dose.colonies for dose in given), sum(dose.volume_l for dose in given)
    gets = f"gets {say(litres)} for {colonies} colonies"
    asked_l, each_l = known.urgent_total_l, known.urgent_each_l
    if asked_l is not None and asked_l - litres > CUP_L:
        return f"{say(asked_l)} and {gets}, all that their feeders take."
    if each_l is not None and any(each_l - dose.each_l > CUP_L for dose in given):
        return f"{say(each_l)} for each colony and {gets}, all that their feeders take."
    if known.urgent_colonies is not None and known.urgent_colonies > colonies:
        return f"{known.urgent_colonies} colonies and {gets}, all that it has to feed."
    return ""


def _place(operation: Operation, key: str | None) -> str:
    kind, _, place_id = (key or "").partition(":")
    place = (operation.yards if kind == "yard" else operation.depots).get(place_id)
    return (place.name if place else "") or place_id or "an unknown place"


def _clock(plan: Plan, moment: datetime) -> str:
    return f"{moment.astimezone(ZoneInfo(plan.timezone)):%H:%M}"


def _hours(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
