"""What a re-plan cautions of at its moment: trucks that fell silent, breaks overdue, yards passed by."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from routing.domain.plan import Plan, Route, Stop
from routing.log.events import Event
from routing.log.facts import Arrived, Fed, Rested
from routing.planning.replan.replan import Replanned
from tests.support.day_player import Scene, check, demo_scene, event, played, replan_here, state


@pytest.fixture(scope="module")
def demo() -> Scene:
    return demo_scene()


def route_of(plan: Plan, truck_id: str) -> Route:
    return next(route for route in plan.routes if route.truck_id == truck_id)


def said(made: Replanned, code: str, truck_id: str | None = None) -> list[str]:
    return [w.text for w in made.plan.warnings if w.code == code and w.truck_id == truck_id]


def yard_in_mid_day(scene: Scene, truck_id: str) -> Stop:
    """A yard of a truck about noon, with yards after it."""
    noon = datetime(2026, 9, 28, 11, 30, tzinfo=ZoneInfo(scene.plan.timezone))
    stops = route_of(scene.plan, truck_id).stops
    return next(
        stop for stop, then in pairwise(stops) if stop.kind == then.kind == "yard" and stop.leave > noon
    )


def without_breaks(events: list[Event]) -> list[Event]:
    return [one for one in events if not isinstance(one.fact, Rested)]


def test_a_truck_that_fell_silent_is_told_with_where_it_is_taken_to_be(demo: Scene) -> None:
    last = yard_in_mid_day(demo, "light")
    now = last.leave + timedelta(hours=2)
    heard = [e for e in played(demo.plan, now) if e.truck_id != "light" or e.at <= last.leave]
    made = replan_here(demo, now, heard, iterations=3)
    (text,) = said(made, "silent", "light")
    assert f"Nothing heard from light since {last.leave:%H:%M}: taken to be still on its way to " in text
    assert not said(made, "silent", "heavy")
    there = next(s for s in route_of(demo.plan, "light").stops if s.seq == last.seq + 1)
    assert demo.operation.yards[there.place_id].name in text


def test_a_truck_silent_at_a_yard_is_taken_to_be_still_there(demo: Scene) -> None:
    last = yard_in_mid_day(demo, "light")
    now = last.leave + timedelta(hours=1)
    heard = [e for e in played(demo.plan, now) if e.truck_id != "light" or e.at <= last.arrive]
    assert isinstance(heard[-1].fact, (Arrived, Fed))
    (text,) = said(replan_here(demo, now, heard, iterations=3), "silent", "light")
    assert f"taken to be still at {demo.operation.yards[last.place_id].name}" in text


def test_a_crew_that_reports_is_not_called_silent_and_is_told_nothing_of_breaks(demo: Scene) -> None:
    # A crew notes its break when it is over, so that one at rest may look overdue.
    pauses = [s for r in demo.plan.routes for s in r.stops if s.kind == "break"]
    first = yard_in_mid_day(demo, "heavy").leave
    leaving = [s.leave for s in route_of(demo.plan, "heavy").stops if s.kind == "yard" and s.leave >= first]
    now = next(at for at in leaving if not any(s.begin <= at <= s.leave for s in pauses))
    made = replan_here(demo, now, played(demo.plan, now), iterations=3)
    assert not {w.code for w in made.plan.warnings} & {"silent", "break_overdue", "passed_by"}


@pytest.mark.parametrize("minutes", [0, 12, 25, 40, 55])
def test_an_overdue_break_is_cautioned_and_comes_before_all_other_work(demo: Scene, minutes: int) -> None:
    shift = demo.operation.shift
    start = max(route.start for route in demo.plan.routes)
    now = start + timedelta(seconds=shift.break_after_s, minutes=30 + minutes)
    events = without_breaks(played(demo.plan, now))
    made = replan_here(demo, now, events, iterations=3)
    check(made)
    day = state(demo, now, events)
    for route in made.plan.routes:
        (text,) = said(made, "break_overdue", route.truck_id)
        worked = divmod(round(day.trucks[route.truck_id].since_break_s / 60), 60)
        assert f"{worked[0]} h {worked[1]:02d} min of work" in text
        assert "the hours-of-service rules that bind you decide" in text.lower()
        rest = route.stops[1]
        assert rest.kind == "break"
        assert rest.begin >= now
        assert f"By this plan it rests first, at {rest.begin:%H:%M}." in text


def test_a_break_that_comes_due_on_the_way_is_told_before(demo: Scene) -> None:
    route = route_of(demo.plan, "heavy")
    leg = next(s for s in route.stops if s.kind == "yard" and s.leg.drive_s > 600 and s.seq > 3)
    now = leg.arrive - timedelta(seconds=leg.leg.drive_s // 2)
    events = without_breaks(played(demo.plan, now))
    worked_s = state(demo, now, events).trucks["heavy"].since_break_s
    shift = replace(demo.operation.shift, break_after_s=worked_s + 120)
    scene = replace(demo, operation=replace(demo.operation, shift=shift))
    made = replan_here(scene, now, events, iterations=3)
    check(made)
    (text,) = said(made, "break_overdue", "heavy")
    assert f"heavy gets to {demo.operation.yards[leg.place_id].name} " in text
    assert "after its break is due" in text
    assert "rest on the way" in text
    assert route_of(made.plan, "heavy").stops[1].kind == "break"


def test_a_break_that_is_noted_is_not_overdue(demo: Scene) -> None:
    start = max(route.start for route in demo.plan.routes)
    now = start + timedelta(seconds=demo.operation.shift.break_after_s, minutes=50)
    events = without_breaks(played(demo.plan, now))
    noted = [event(demo.plan, f"rest-{t}", now, Rested(1800), t) for t in demo.operation.trucks]
    made = replan_here(demo, now, [*events, *noted], iterations=3)
    assert not [w for w in made.plan.warnings if w.code == "break_overdue"]


def test_a_truck_that_can_no_longer_feed_where_it_stands_still_feeds_its_other_yards(demo: Scene) -> None:
    stop = yard_in_mid_day(demo, "light")
    now = stop.arrive + timedelta(minutes=2)
    # The crew rests first, and then the gate is shut.
    shuts = demo.operation.clock(demo.plan.date).seconds(now) + 20 * 60
    yard = demo.operation.yards[stop.place_id]
    gate = replace(yard, windows=(replace(demo.operation.shift.window, end_s=shuts),))
    yards = {**demo.operation.yards, stop.place_id: gate}
    shift = replace(demo.operation.shift, break_after_s=3600)
    scene = replace(demo, operation=replace(demo.operation, yards=yards, shift=shift))
    made = replan_here(scene, now, without_breaks(played(demo.plan, now)), iterations=60)
    check(made)
    assert [s for s in route_of(made.plan, "light").stops if s.kind == "yard"]


def test_a_yard_passed_by_without_a_word_is_told_and_planned_again(demo: Scene) -> None:
    stop = yard_in_mid_day(demo, "heavy")
    then = next(s for s in route_of(demo.plan, "heavy").stops if s.seq == stop.seq + 1)
    now = then.leave + timedelta(minutes=1)
    seen = f"-heavy-{stop.seq}"
    events = [e for e in played(demo.plan, now) if not e.event_id.endswith((seen, f"{seen}-in"))]
    made = replan_here(demo, now, events, iterations=20)
    (warned,) = [w for w in made.plan.warnings if w.code == "passed_by"]
    assert warned.place_id == stop.place_id
    assert "with no word from heavy" in warned.text
    planned = {s.place_id: r.truck_id for r in made.plan.routes for s in r.stops if s.kind == "yard"}
    again = planned.get(stop.place_id)
    assert (f"planned again, for {again}" if again else "not planned again") in warned.text
