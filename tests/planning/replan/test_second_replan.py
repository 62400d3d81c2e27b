"""A day planned anew more than once: trucks stay where they are, and what they drove stays driven."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from routing.audit import audit
from routing.domain.plan import Plan, Route, Stop
from routing.log.day import TruckNow
from routing.log.events import Event
from routing.log.facts import Arrived, Fed, Planned, TruckBack, TruckOut
from routing.planning.replan.remaining_day import DayInProgress, remaining_day
from routing.planning.replan.replan import Replanned
from tests.support.day_player import Scene, check, demo_scene, event, played, replan_here, state

FEW = 2


@pytest.fixture(scope="module")
def demo() -> Scene:
    return demo_scene()


def driven(scene: Scene, made: Replanned, at: datetime) -> tuple[Scene, Event]:
    """The scene with a re-plan in force, and the note of it."""
    plan = replace(made.plan, plan_id=f"{scene.plan.plan_id}+")
    following = replace(scene, plan=plan, earlier=(*scene.earlier, scene.plan))
    return following, Event(f"planned-{plan.plan_id}", plan.date, at, Planned(plan.plan_id, rest=True))


def route_of(plan: Plan, truck_id: str) -> Route:
    return next(r for r in plan.routes if r.truck_id == truck_id)


def long_drive(plan: Plan, truck_id: str) -> tuple[Stop, Stop]:
    """The longest drive from one yard to the next, once the truck has fed another before."""
    stops = [s for s in route_of(plan, truck_id).stops if s.kind in ("yard", "refill")]
    pairs = [(a, b) for a, b in itertools.pairwise(stops) if a.kind == b.kind == "yard"]
    pairs = [(a, b) for a, b in pairs if b.seq == a.seq + 1]
    return max(pairs, key=lambda pair: pair[1].leg.drive_s)


def truck(scene: Scene, at: datetime, events: list[Event], truck_id: str = "heavy") -> TruckNow:
    return state(scene, at, events).trucks[truck_id]


def with_break_first(plan: Plan, truck_id: str) -> Plan:
    """The plan with a break of the crew before its first stop: the rest of its route waits for it."""
    route = route_of(plan, truck_id)
    first, *rest = route.stops
    pause = timedelta(minutes=30)
    halt = replace(
        first,
        kind="break",
        seq=first.seq + 1,
        arrive=first.leave,
        begin=first.leave,
        leave=first.leave + pause,
    )
    halt = replace(halt, leg=replace(first.leg, distance_m=0, drive_s=0, fuel_l=0.0, geometry=()))
    moved = [
        replace(s, seq=s.seq + 1, arrive=s.arrive + pause, begin=s.begin + pause, leave=s.leave + pause)
        for s in rest
    ]
    changed = replace(route, end=route.end + pause, stops=(first, halt, *moved))
    return replace(plan, routes=tuple(changed if r is route else r for r in plan.routes))


def test_a_truck_told_to_rest_where_it_gets_to_is_still_on_its_way_there_at_the_next_replan(
    demo: Scene,
) -> None:
    before, ahead = long_drive(demo.plan, "heavy")
    now = before.leave + timedelta(seconds=60)
    events = played(demo.plan, now)
    made = replan_here(demo, now, events, FEW)
    made = replace(made, plan=with_break_first(made.plan, "heavy"))
    scene, noted = driven(demo, made, now)
    events.append(noted)
    later = now + timedelta(seconds=60)
    stands = truck(scene, later, events)
    assert stands.heading == f"yard:{ahead.place_id}"
    again = replan_here(scene, later, events, FEW)
    check(again)
    start, was = route_of(again.plan, "heavy").stops[0], route_of(made.plan, "heavy").stops[0]
    assert (start.lat, start.lon) == (was.lat, was.lon) == (ahead.lat, ahead.lon)
    assert abs((start.arrive - was.arrive).total_seconds()) <= 1
    orders = [c.text for c in again.plan.changes if (c.code, c.truck_id) == ("tell", "heavy")]
    assert not [text for text in orders if "here-" in text]


def test_the_audit_finds_a_truck_that_goes_on_from_where_it_is_not(demo: Scene) -> None:
    before, _ = long_drive(demo.plan, "heavy")
    now = before.leave + timedelta(seconds=60)
    events = played(demo.plan, now)
    stands = state(demo, now, events)
    made = replan_here(demo, now, events, FEW)
    elsewhere = replace(stands.trucks["heavy"], heading="depot:home")
    early = replace(stands.trucks["heavy"], left=now + timedelta(minutes=20))
    for wrong in (elsewhere, early):
        lied = replace(stands, trucks={**stands.trucks, "heavy": wrong})
        found = audit(made.remaining.operation, made.remaining.travel, made.plan, lied).findings
        assert "goes_on_from" in {f.code for f in found}


def test_what_was_driven_stays_driven_when_the_day_is_planned_anew_on_the_road(demo: Scene) -> None:
    before, ahead = long_drive(demo.plan, "heavy")
    now = before.leave + (ahead.arrive - before.leave) / 2
    events = [e for e in played(demo.plan, ahead.leave) if e.at <= now]
    plain = truck(demo, now, events).driven_s
    made = replan_here(demo, now, events, FEW)
    scene, noted = driven(demo, made, now)
    events.append(noted)
    assert truck(scene, now, events).driven_s == plain
    fed = next(
        e
        for e in played(demo.plan, ahead.leave)
        if isinstance(e.fact, Fed) and e.truck_id == "heavy" and e.fact.yard_id == ahead.place_id
    )
    after = ahead.leave + timedelta(seconds=1)
    told = [e for e in events if e.truck_id == "heavy" or isinstance(e.fact, Planned)]
    without = truck(demo, after, [*(e for e in told if e is not noted), fed])
    with_it = truck(scene, after, [*told, fed])
    # The drive on to the next yard has begun in both, by a second.
    assert abs(with_it.driven_s - without.driven_s) <= 1
    assert with_it.driven_s >= plain
    assert abs(with_it.driving_since_pause_s - without.driving_since_pause_s) <= 1


def test_driving_never_goes_down_however_often_the_day_is_planned_anew(demo: Scene) -> None:
    before, ahead = long_drive(demo.plan, "heavy")
    scene, events, last = demo, played(demo.plan, before.leave), 0
    for share in (0.2, 0.5, 0.9, 1.2):
        now = before.leave + (ahead.arrive - before.leave) * share
        stands = truck(scene, now, events)
        assert stands.driven_s >= last
        made = replan_here(scene, now, events, FEW)
        last = stands.driven_s
        scene, noted = driven(scene, made, now)
        events = [*events, noted]
        assert truck(scene, now, events).driven_s >= last


def broken_and_back(demo: Scene, truck_id: str) -> tuple[Scene, list[Event], datetime, int]:
    """A truck broke down on the road, the day was planned without it, and it is back an hour later."""
    before, _ = long_drive(demo.plan, truck_id)
    broke = before.leave + timedelta(seconds=90)
    events = [*played(demo.plan, broke), event(demo.plan, "out", broke, TruckOut("engine"), truck_id)]
    made = replan_here(demo, broke, events, FEW)
    scene, noted = driven(demo, made, broke)
    back = broke + timedelta(hours=1)
    events += [noted, event(demo.plan, "back", back, TruckBack(), truck_id)]
    return scene, events, back, truck(demo, broke, events[:-2], truck_id).driven_s


def test_a_truck_that_is_back_has_not_driven_before_the_plan_that_sends_it_on(demo: Scene) -> None:
    scene, events, back, drove = broken_and_back(demo, "light")
    made = replan_here(scene, back, events, FEW)
    following, noted = driven(scene, made, back)
    events.append(noted)
    first = route_of(made.plan, "light").stops[1]
    assert first.leg.drive_s > 180
    later = back + timedelta(minutes=2)
    stands = truck(following, later, events, "light")
    assert drove <= stands.driven_s <= drove + 121
    again = replan_here(following, later, events, FEW)
    check(again)
    start = route_of(again.plan, "light").stops[0]
    assert (start.lat, start.lon) == (first.lat, first.lon)
    assert abs((start.arrive - first.arrive).total_seconds()) <= 1


def test_a_truck_that_broke_down_on_the_road_is_taken_to_be_at_its_last_yard_and_that_is_known(
    demo: Scene,
) -> None:
    scene, events, back, _ = broken_and_back(demo, "light")
    out = truck(scene, back - timedelta(minutes=1), events, "light")
    assert out.stranded
    assert out.heard == back - timedelta(hours=1)
    day = DayInProgress(scene.operation, scene.travel, state(scene, back, events), scene.plan)
    rest = remaining_day(day)
    underway = rest.operation.trucks["light"].underway
    assert underway is not None
    assert underway.stranded
    events.append(event(scene.plan, "in", back + timedelta(minutes=9), Arrived("depot:home"), "light"))
    assert not truck(scene, back + timedelta(minutes=9), events, "light").stranded


def test_a_break_that_was_not_noted_is_behind_a_crew_that_got_to_a_later_yard(demo: Scene) -> None:
    plan, pause = next(
        (r, s)
        for r in demo.plan.routes
        for s in r.stops
        if s.kind == "break" and r.stops[s.seq - r.stops[0].seq + 1].kind == "yard"
    )
    after = plan.stops[pause.seq - plan.stops[0].seq + 1]
    early = after.arrive - timedelta(minutes=20)
    events = list(played(demo.plan, pause.begin))
    events.append(event(demo.plan, "in", early, Arrived(f"yard:{after.place_id}"), plan.truck_id))
    late = max(pause.leave, early) + timedelta(minutes=12)
    stands = truck(demo, min(late, after.leave), events, plan.truck_id)
    assert stands.heading == f"yard:{after.place_id}"
    assert stands.late_s is not None
    assert -1200 <= stands.late_s < 0
    assert not stands.silent


def test_a_crew_that_is_done_where_it_rests_next_is_not_on_its_way(demo: Scene) -> None:
    route, pause = next((r, s) for r in demo.plan.routes for s in r.stops if s.kind == "break")
    stands = truck(demo, pause.begin, played(demo.plan, pause.begin), route.truck_id)
    assert stands.pausing
    assert stands.heading == stands.place
