"""Play a plan as the crews would report it, up to a moment: a log without a log file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from routing.audit import audit
from routing.domain.operation import Operation, place_key
from routing.domain.plan import Plan, Route, Stop
from routing.domain.travel import Travel
from routing.files.operation.folder import read_operation
from routing.log.day import DayNow
from routing.log.events import Event, Fact
from routing.log.facts import (
    Arrived,
    Fed,
    Filled,
    Finished,
    Planned,
    Poured,
    Refilled,
    Rested,
    Started,
    Washed,
)
from routing.log.fold.fold import day_now
from routing.need.syrup import resolve
from routing.planning.replan import replan as replan_module
from routing.planning.replan.replan import Replanned, replan, worded_remaining
from routing.planning.run.solve import SolveOptions
from routing.travel.choose import travel_for
from tests.support.any_day import plan_here, solve_here

DEMO = Path(__file__).parents[2] / "data_demo" / "sorrel_county"
DEMO_DAY = date(2026, 9, 28)


@dataclass(frozen=True)
class Scene:
    """An operation, its travel table, the plan that is driven, and those driven before it today."""

    operation: Operation
    travel: Travel
    plan: Plan
    earlier: tuple[Plan, ...] = ()


def played(plan: Plan, until: datetime, late: timedelta = timedelta(0)) -> list[Event]:
    """What the crews report up to ``until`` when all goes by the plan, ``late`` behind its times.

    The plan is the first of its day.
    """
    first = min((route.start for route in plan.routes), default=until)
    events = [Event("planned", plan.date, first - timedelta(hours=1), Planned(plan.plan_id))]
    for route in plan.routes:
        events += [event for event in _route(plan, route, late) if event.at <= until]
    return events


def played_on(made: Replanned, since: datetime, until: datetime, late: timedelta) -> list[Event]:
    """What the crews report between two moments when a re-plan of the first is driven."""
    plan = made.plan
    events = [Event(f"planned-{plan.plan_id}", plan.date, since, Planned(plan.plan_id, rest=True))]
    for route in plan.routes:
        underway = made.remaining.operation.trucks[route.truck_id].underway is not None
        for told in _route(plan, route, late):
            start = told.event_id.endswith(f"{route.truck_id}-0")
            if start and underway:
                if not route.stops[0].fill:
                    continue
                told = replace(told, fact=Refilled(route.stops[0].place_id, _filled(route.stops[0])))
            if told.at <= until:
                # What was reported before the re-plan is not reported again, only not earlier either.
                events.append(replace(told, at=max(told.at, since + timedelta(seconds=1))))
    return events


def event(plan: Plan, event_id: str, at: datetime, fact: Fact, truck_id: str = "") -> Event:
    """Something that happens on the day of a plan."""
    return Event(event_id, plan.date, at, fact, truck_id)


def _route(plan: Plan, route: Route, late: timedelta) -> Iterator[Event]:
    stem = f"{plan.plan_id}-{route.truck_id}"
    for stop in route.stops:
        place = place_key("yard" if stop.kind == "yard" else "depot", stop.place_id)
        if stop.kind in ("yard", "refill", "wash"):
            yield Event(
                f"{stem}-{stop.seq}-in", plan.date, stop.arrive + late, Arrived(place), route.truck_id
            )
        yield Event(f"{stem}-{stop.seq}", plan.date, stop.leave + late, _done(stop), route.truck_id)


def _done(stop: Stop) -> Fact:
    fills = _filled(stop)
    match stop.kind:
        case "start":
            return Started(stop.place_id, fills)
        case "yard":
            return Fed(stop.place_id, tuple(_poured(stop)))
        case "refill":
            return Refilled(stop.place_id, fills)
        case "wash":
            return Washed(stop.place_id)
        case "break":
            return Rested(max(1, round((stop.leave - stop.begin).total_seconds())))
        case "end":
            return Finished(stop.place_id)


def _filled(stop: Stop) -> tuple[Filled, ...]:
    return tuple(Filled(f.syrup_id, f.volume_l, f.tank_id, f.pails) for f in stop.fill)


def _poured(stop: Stop) -> Iterator[Poured]:
    for p in stop.pour:
        yield Poured(p.group, p.feeder_id, p.syrup_id, p.colonies, p.volume_l, p.tank_id, p.pails)


def replan_here(scene: Scene, at: datetime, events: list[Event], iterations: int = 25) -> Driven:
    """The rest of a day planned in this very process, from its events up to a moment; not audited."""
    now = state(scene, at, events)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(replan_module, "solve", solve_here)
        made = replan(scene.operation, scene.travel, scene.plan, now, SolveOptions(None, iterations))
    assert not [
        f
        for f in audit(made.remaining.operation, made.remaining.travel, made.plan, now).findings
        if f.code == "goes_on_from"
    ]
    plan = replace(made.plan, plan_id=f"{scene.plan.plan_id}+")
    return Driven(made.remaining, plan, scene, now)


@dataclass(frozen=True)
class Driven(Replanned):
    """A re-plan with the day that it is the rest of."""

    scene: Scene
    now: DayNow

    def worded(self, plan: Plan) -> Plan:
        """The plan with its words made anew."""
        return worded_remaining(self.scene.operation, self.remaining, self.scene.plan, self.now, plan)


def state(scene: Scene, at: datetime, events: list[Event]) -> DayNow:
    """How the day stands at a moment."""
    plans = {plan.plan_id: plan for plan in (*scene.earlier, scene.plan)}
    return day_now(scene.operation, scene.plan.date, plans, events, at)


def check(made: Driven) -> None:
    """The audit finds nothing in the rest of the day, nor in what it says."""

    def anew(plan: Plan) -> Plan:
        return replace(made.worded(plan), plan_id=plan.plan_id, audit=plan.audit)

    found = audit(made.remaining.operation, made.remaining.travel, made.plan, made.now, anew).findings
    assert not found, found


def demo_scene() -> Scene:
    """The demo's day with a plan found in little time."""
    operation = resolve(read_operation(DEMO, day=DEMO_DAY)[0])
    travel = travel_for(operation, DEMO)
    return Scene(operation, travel, replace(plan_here(operation, travel, DEMO_DAY, 60), plan_id="morning"))
