"""The rest of a day: what moves when reality leaves the plan, and what does not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from routing.domain.clock import DayClock
from routing.domain.errors import NoPlanError
from routing.domain.fleet import HERE
from routing.domain.plan import Plan, Route, Stop
from routing.domain.units import L_PER_US_GAL
from routing.log.events import Event
from routing.log.facts import (
    DepotClosed,
    Fed,
    Poured,
    Skipped,
    SkipReason,
    TruckBack,
    TruckOut,
    Urgent,
    YardClosed,
)
from routing.planning.replan.calls import level_of
from routing.planning.replan.needs import still_open
from routing.planning.replan.replan import Replanned
from tests.support.any_day import plan_here
from tests.support.builders import DAY, small_operation, straight_travel
from tests.support.day_player import Scene, check, demo_scene, event, played, replan_here, state


@pytest.fixture(scope="module")
def small() -> Scene:
    operation = small_operation()
    travel = straight_travel(operation)
    return Scene(operation, travel, replace(plan_here(operation, travel, DAY, 40), plan_id="morning"))


@pytest.fixture(scope="module")
def demo() -> Scene:
    return demo_scene()


def clock(scene: Scene, text: str) -> datetime:
    hour, minute = map(int, text.split(":"))
    day = scene.plan.date
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZoneInfo(scene.plan.timezone))


def yards(plan: Plan, truck_id: str | None = None) -> list[str]:
    return [
        s.place_id
        for r in plan.routes
        for s in r.stops
        if s.kind == "yard" and truck_id in (None, r.truck_id)
    ]


def after(plan: Plan, at: datetime, truck_id: str | None = None) -> list[str]:
    """Yards by the plan that are not finished at a moment."""
    return [
        s.place_id
        for r in plan.routes
        for s in r.stops
        if s.kind == "yard" and s.leave > at and truck_id in (None, r.truck_id)
    ]


def accounted(scene: Scene, made: Replanned, done: set[str]) -> None:
    """Every yard is done, planned or listed with a reason; none that is done comes again."""
    planned, left = set(yards(made.plan)), {u.yard_id for u in made.plan.unserved}
    assert not done & (planned | left)
    assert done | planned | left == set(scene.operation.yards)
    assert all(u.reason and u.remedy for u in made.plan.unserved)


def done_by(scene: Scene, at: datetime) -> set[str]:
    return set(yards(scene.plan)) - set(after(scene.plan, at))


def told(made: Replanned, code: str) -> list[tuple[str | None, str | None]]:
    return [(c.truck_id, c.place_id) for c in made.plan.changes if c.code == code]


def first_yard(route: Route) -> str:
    return next(s.place_id for s in route.stops if s.kind == "yard")


def from_yard_to_yard(scene: Scene, truck_id: str) -> tuple[Stop, Stop]:
    """Two yards that a truck calls at one after the other, with others behind it already."""
    stops = [s for r in scene.plan.routes if r.truck_id == truck_id for s in r.stops]
    yards = [(a, b) for a, b in pairwise(stops) if a.kind == b.kind == "yard"]
    return next((a, b) for a, b in yards if a.seq > 1)


def mid_day(scene: Scene, truck_id: str) -> datetime:
    """A moment when a truck drives from one yard to the next."""
    return from_yard_to_yard(scene, truck_id)[0].leave + timedelta(seconds=30)


@pytest.mark.parametrize("at", ["08:40", "10:20", "12:00", "15:30"])
def test_when_all_goes_by_the_plan_nothing_changes(demo: Scene, at: str) -> None:
    now = clock(demo, at)
    # A truck that loads has noted nothing yet: wait until it has left.
    while loading := [r.stops[0].leave for r in demo.plan.routes if r.start <= now <= r.stops[0].leave]:
        now = max(loading) + timedelta(seconds=1)
    # Where telling drivers otherwise is dear, no little saving is worth it.
    dear = replace(demo.operation.cost, moved_stop=2000.0, changed_order=2000.0)
    demo = replace(demo, operation=replace(demo.operation, cost=dear))
    made = replan_here(demo, now, played(demo.plan, now), iterations=3)
    check(made)
    accounted(demo, made, done_by(demo, now))
    for route in demo.plan.routes:
        if left := after(demo.plan, now, route.truck_id):
            kept = yards(made.plan, route.truck_id)
            assert [y for y in kept if y in left] == left
    assert not told(made, "moved")
    assert not told(made, "dropped")
    assert not told(made, "reordered")
    assert not told(made, "later")


def test_a_crew_at_work_in_a_yard_is_not_planned_to_begin_again(small: Scene) -> None:
    stop = next(s for r in small.plan.routes for s in r.stops if s.kind == "yard")
    middle = stop.begin + (stop.leave - stop.begin) / 2
    made = replan_here(small, middle, played(small.plan, middle))
    check(made)
    again = next(s for r in made.plan.routes for s in r.stops if s.place_id == stop.place_id)
    assert abs((again.leave - stop.leave).total_seconds()) <= 1


def test_a_truck_that_breaks_down_leaves_its_yards_to_the_other(demo: Scene) -> None:
    now = clock(demo, "11:20")
    events = [*played(demo.plan, now), event(demo.plan, "out", now, TruckOut("engine"), "heavy")]
    made = replan_here(demo, now, events, iterations=60)
    check(made)
    accounted(demo, made, done_by(demo, now))
    assert {r.truck_id for r in made.plan.routes} == {"light"}
    took = set(yards(made.plan)) & set(after(demo.plan, now, "heavy"))
    assert took
    assert {place for _, place in told(made, "moved")} == took
    (route,) = made.plan.routes
    limit = demo.operation.trucks["light"].gvwr_kg
    assert all(s.after.gross_kg <= limit for s in route.stops)
    orders = {c.truck_id: c.text for c in made.plan.changes if c.code == "tell"}
    assert "out of action (engine)" in orders["heavy"]


def test_a_truck_that_is_home_already_takes_over_when_it_is_called_back(small: Scene) -> None:
    now = mid_day(small, "BIG")
    events = played(small.plan, now)
    assert state(small, now, events).trucks["SMALL"].status == "finished"
    events.append(event(small.plan, "out", now, TruckOut(), "BIG"))
    with pytest.raises(NoPlanError, match="no truck can go on"):
        replan_here(small, now, events)
    made = replan_here(small, now, [*events, event(small.plan, "back", now, TruckBack(), "SMALL")])
    check(made)
    accounted(small, made, done_by(small, now))
    assert {r.truck_id for r in made.plan.routes} == {"SMALL"}


def test_nobody_refills_at_a_depot_that_closed(demo: Scene) -> None:
    now = clock(demo, "11:20")
    used = [s.place_id for r in demo.plan.routes for s in r.stops if s.kind == "refill" and s.begin > now]
    shut = used[0]
    events = [*played(demo.plan, now), event(demo.plan, "shut", now, DepotClosed(shut))]
    made = replan_here(demo, now, events)
    check(made)
    accounted(demo, made, done_by(demo, now))
    assert not [
        s for r in made.plan.routes for s in r.stops if s.place_id == shut and (s.fill or s.kind == "wash")
    ]


def test_a_depot_closed_until_one_gives_nothing_before_one(demo: Scene) -> None:
    now = clock(demo, "09:30")
    opens = clock(demo, "13:00")
    events = played(demo.plan, now)
    events += [event(demo.plan, f"shut-{d}", now, DepotClosed(d, opens)) for d in demo.operation.depots]
    made = replan_here(demo, now, events)
    check(made)
    fills = [s for r in made.plan.routes for s in r.stops if s.fill]
    assert fills
    assert all(s.begin >= opens for s in fills)


def test_a_yard_called_in_is_fed_today_although_it_has_enough(demo: Scene) -> None:
    now = clock(demo, "12:05")
    assert "Y35" in {u.yard_id for u in demo.plan.unserved}
    events = [*played(demo.plan, now), event(demo.plan, "call", now, Urgent("Y35", words="by phone"))]
    made = replan_here(demo, now, events)
    check(made)
    accounted(demo, made, done_by(demo, now))
    (truck_id,) = {t for t, place in told(made, "added") if place == "Y35"}
    assert "Y35" in yards(made.plan, truck_id)


def test_a_call_for_ten_colonies_feeds_ten_with_what_was_asked(demo: Scene) -> None:
    now = clock(demo, "12:05")
    call = Urgent("Y35", colonies=10, each_l=2.0)
    made = replan_here(demo, now, [*played(demo.plan, now), event(demo.plan, "call", now, call)])
    check(made)
    pours = [p for r in made.plan.routes for s in r.stops if s.place_id == "Y35" for p in s.pour]
    assert sum(p.colonies for p in pours) == 10
    assert sum(p.volume_l for p in pours) == pytest.approx(20.0, abs=0.01)


def fed_at(made: Replanned, yard_id: str) -> float:
    stops = [s for r in made.plan.routes for s in r.stops if s.kind == "yard" and s.place_id == yard_id]
    return sum(p.volume_l for s in stops for p in s.pour)


def cautioned(made: Replanned, code: str) -> list[str]:
    return [w.text for w in made.plan.warnings if w.code == code]


def test_a_call_for_twenty_gallons_in_all_is_shared_among_the_colonies(demo: Scene) -> None:
    now = clock(demo, "12:05")
    call = Urgent("Y35", total_l=20 * L_PER_US_GAL)
    made = replan_here(demo, now, [*played(demo.plan, now), event(demo.plan, "call", now, call)])
    check(made)
    assert fed_at(made, "Y35") == pytest.approx(20 * L_PER_US_GAL, abs=0.05)
    assert not cautioned(made, "call_short") + cautioned(made, "call_unmet")


def test_a_call_for_more_than_the_feeders_take_says_what_the_yard_gets(demo: Scene) -> None:
    now = clock(demo, "12:05")
    call = Urgent("Y35", total_l=900 * L_PER_US_GAL)
    made = replan_here(demo, now, [*played(demo.plan, now), event(demo.plan, "call", now, call)])
    check(made)
    given = fed_at(made, "Y35")
    assert 0 < given < 900 * L_PER_US_GAL
    (text,) = cautioned(made, "call_short")
    assert "was called in for 900.00 gal and gets " in text
    assert f"{given / L_PER_US_GAL:.2f} gal" in text


@pytest.mark.parametrize(
    ("total", "rooms", "level"),
    [
        (20.0, [(4.0, 10)], 2.0),
        (30.0, [(1.0, 10), (4.0, 10)], 2.0),
        (90.0, [(4.0, 10), (1.0, 10)], 4.0),
        (5.0, [], 0.0),
    ],
)
def test_a_total_is_shared_evenly_and_no_feeder_is_given_more_than_it_takes(
    total: float, rooms: list[tuple[float, int]], level: float
) -> None:
    assert level_of(total, rooms) == pytest.approx(level)
    given = sum(n * min(room, level_of(total, rooms)) for room, n in rooms)
    assert given == pytest.approx(min(total, sum(room * n for room, n in rooms)))


def test_a_yard_called_in_and_found_locked_is_not_driven_to_again_and_that_is_told(demo: Scene) -> None:
    now = clock(demo, "12:05")
    events = [*played(demo.plan, now), event(demo.plan, "call", now - timedelta(hours=1), Urgent("Y35"))]
    locked = Skipped("Y35", SkipReason.GATE_LOCKED)
    made = replan_here(demo, now, [*events, event(demo.plan, "gate", now, locked)], iterations=3)
    check(made)
    assert "Y35" not in yards(made.plan)
    (text,) = cautioned(made, "call_unmet")
    assert "skipped at 12:05: gate locked" in text


def test_a_yard_called_in_after_it_was_fed_in_full_is_told_as_such(demo: Scene) -> None:
    now = clock(demo, "12:05")
    fed = min(done_by(demo, now))
    events = [*played(demo.plan, now), event(demo.plan, "call", now, Urgent(fed))]
    made = replan_here(demo, now, events, iterations=3)
    assert fed not in yards(made.plan)
    (text,) = cautioned(made, "call_unmet")
    assert "it was fed in full already" in text


def test_a_call_does_not_overrule_supers_or_cold(demo: Scene) -> None:
    now = clock(demo, "12:05")
    events = played(demo.plan, now)
    events += [event(demo.plan, f"call-{y}", now, Urgent(y)) for y in ("Y28", "Y34")]
    made = replan_here(demo, now, events, iterations=3)
    check(made)
    assert {"Y28", "Y34"} <= {u.yard_id for u in made.plan.unserved}
    assert len(cautioned(made, "call_unmet")) == 2


def test_a_starving_yard_found_locked_comes_back_after_its_gate_opens(demo: Scene) -> None:
    opens = clock(demo, "15:00")
    route, coming = next(
        (r, s)
        for r in demo.plan.routes
        for s in r.stops
        if s.kind == "yard" and s.starving and s.leave < opens
    )
    now = coming.arrive + timedelta(minutes=2)
    fact = Skipped(coming.place_id, SkipReason.GATE_LOCKED, "owner back at three", opens)
    events = [*played(demo.plan, now), event(demo.plan, "skip", now, fact, route.truck_id)]
    made = replan_here(demo, now, events)
    check(made)
    visits = [s for r in made.plan.routes for s in r.stops if s.place_id == coming.place_id]
    assert visits
    assert all(s.begin >= opens for s in visits)


def test_a_yard_skipped_without_word_of_its_opening_is_left_with_the_reason(demo: Scene) -> None:
    now = clock(demo, "10:00")
    route = demo.plan.routes[0]
    coming = next(s for s in route.stops if s.kind == "yard" and s.arrive > now)
    now = coming.arrive + timedelta(minutes=2)
    events = [
        *played(demo.plan, now),
        event(demo.plan, "skip", now, Skipped(coming.place_id, SkipReason.MUD, "axle deep"), route.truck_id),
    ]
    made = replan_here(demo, now, events)
    check(made)
    left = next(u for u in made.plan.unserved if u.yard_id == coming.place_id)
    assert left.reason == f"skipped at {now:%H:%M}: mud (axle deep)"
    assert (route.truck_id, coming.place_id) in told(made, "dropped")


def test_a_yard_closed_past_its_hours_is_not_planned(small: Scene) -> None:
    now = clock(small, "07:30")
    opens = clock(small, "13:00")  # the gate of Y2 shuts at noon
    events = [*played(small.plan, now), event(small.plan, "shut", now, YardClosed("Y2", opens))]
    made = replan_here(small, now, events)
    check(made)
    left = next(u for u in made.plan.unserved if u.yard_id == "Y2")
    assert "closed until 13:00" in left.reason


def test_a_yard_without_hours_closed_until_after_midnight_is_open_from_then_on() -> None:
    day = DayClock(date(2026, 4, 14), "Europe/Vienna")
    now, opens = day.at(22 * 3600), day.at(25 * 3600)
    (window,) = day.openings(still_open((), opens, now, day), day.seconds(now), day.seconds(now) + 10 * 3600)
    assert window[0] == 25 * 3600
    assert window[1] >= 32 * 3600


def test_colonies_fed_before_the_crew_was_called_off_are_not_fed_again(small: Scene) -> None:
    route = next(r for r in small.plan.routes if "Y2" in [s.place_id for s in r.stops])
    stop = next(s for s in route.stops if s.place_id == "Y2")
    now = stop.begin + (stop.leave - stop.begin) / 2
    (pour,) = stop.pour
    part = Poured(
        pour.group, pour.feeder_id, pour.syrup_id, 15, 15 * pour.volume_l / pour.colonies, pour.tank_id
    )
    events = [*played(small.plan, now), event(small.plan, "part", now, Fed("Y2", (part,)), route.truck_id)]
    made = replan_here(small, now, events)
    check(made)
    again = [p for r in made.plan.routes for s in r.stops if s.place_id == "Y2" for p in s.pour]
    left = [u.colonies for u in made.plan.unserved if u.yard_id == "Y2"]
    assert sum(p.colonies for p in again) + sum(left) == pour.colonies - 15


def test_a_yard_that_the_plan_feeds_in_part_is_not_done_with_its_part(small: Scene) -> None:
    route = next(r for r in small.plan.routes if "Y2" in [s.place_id for s in r.stops])
    stop = next(s for s in route.stops if s.place_id == "Y2")
    (pour,) = stop.pour
    half = replace(pour, colonies=20, volume_l=pour.volume_l / 2)
    stops = tuple(replace(s, pour=(half,)) if s is stop else s for s in route.stops)
    left = replace(
        small.plan.unserved[0], yard_id="Y2", reason_code="shift_full", colonies=20, volume_l=half.volume_l
    )
    plan = replace(
        small.plan,
        routes=tuple(replace(r, stops=stops) if r is route else r for r in small.plan.routes),
        unserved=(*small.plan.unserved, left),
    )
    scene = replace(small, plan=plan)
    now = stop.leave + timedelta(minutes=1)
    made = replan_here(scene, now, played(plan, now))
    check(made)
    again = [p.colonies for r in made.plan.routes for s in r.stops if s.place_id == "Y2" for p in s.pour]
    assert sum(again) + sum(u.colonies for u in made.plan.unserved if u.yard_id == "Y2") == 20


@pytest.mark.parametrize("at", ["09:10", "11:20", "14:00"])
def test_every_truck_is_told_its_next_stop(demo: Scene, at: str) -> None:
    now = clock(demo, at)
    events = [*played(demo.plan, now), event(demo.plan, "call", now, Urgent("Y35"))]
    made = replan_here(demo, now, events, iterations=5)
    check(made)
    for route in made.plan.routes:
        stops = route.stops if route.stops[0].fill else route.stops[1:]
        first = next(s for s in stops if s.kind != "break")
        assert (route.truck_id, first.place_id) in told(made, "tell")
        names = {y.yard_id: y.name for y in demo.operation.yards.values()}
        names |= {d.depot_id: d.name for d in demo.operation.depots.values()}
        (text,) = [c.text for c in made.plan.changes if (c.code, c.truck_id) == ("tell", route.truck_id)]
        assert names[first.place_id] in text


@pytest.mark.parametrize("at", ["08:50", "10:10", "12:48", "16:00"])
def test_the_yard_a_truck_is_driving_to_stays_its_next(demo: Scene, at: str) -> None:
    now = clock(demo, at)
    events = [*played(demo.plan, now), event(demo.plan, "call", now, Urgent("Y35"))]
    for truck in state(demo, now, events).trucks.values():
        if truck.status == "working" and truck.heading and truck.heading.startswith("yard:"):
            made = replan_here(demo, now, events, iterations=10)
            route = next(r for r in made.plan.routes if r.truck_id == truck.truck_id)
            assert f"yard:{first_yard(route)}" == truck.heading
            assert route.stops[1].place_id == first_yard(route)


def test_a_truck_on_its_way_goes_on_from_where_it_will_be(demo: Scene) -> None:
    now = mid_day(demo, "heavy")
    made = replan_here(demo, now, played(demo.plan, now), iterations=3)
    truck = made.remaining.operation.trucks["heavy"]
    assert truck.start_depot == f"{HERE}heavy"
    assert truck.underway is not None
    _, yard_ahead = from_yard_to_yard(demo, "heavy")
    arrives = demo.operation.clock(demo.plan.date).at(truck.underway.from_s)
    assert abs((arrives - yard_ahead.arrive).total_seconds()) <= 1
    drives = [
        s.leg.drive_s
        for r in demo.plan.routes
        if r.truck_id == "heavy"
        for s in r.stops[: yard_ahead.seq + 1]
    ]
    assert truck.underway.driven_s == sum(drives)


def test_a_truck_with_nothing_left_to_feed_drives_home(demo: Scene) -> None:
    route = demo.plan.routes[0]
    last = [s for s in route.stops if s.kind == "yard"][-1]
    now, still_out = last.arrive - timedelta(minutes=1), route.truck_id
    events = [*played(demo.plan, now), *_closed_to_all(demo, now)]
    made = replan_here(demo, now, events, iterations=3)
    check(made)
    way_home = next(r for r in made.plan.routes if r.truck_id == still_out)
    assert [s.kind for s in way_home.stops] == ["start", "end"]
    assert way_home.totals.distance_m > 0
    orders = {c.truck_id: c.text for c in made.plan.changes if c.code == "tell"}
    assert orders[still_out].startswith(f"{still_out} goes")
    assert " home to " in orders[still_out]


def test_a_truck_on_its_way_home_goes_on(demo: Scene) -> None:
    ends = {r.truck_id: [s for s in r.stops if s.kind == "yard"][-1].leave for r in demo.plan.routes}
    done = min(ends, key=lambda truck: ends[truck])
    now = ends[done] + timedelta(minutes=1)
    events = [*played(demo.plan, now), *_closed_to_all(demo, now)]
    made = replan_here(demo, now, events, iterations=3)
    check(made)
    orders = {c.truck_id: c.text for c in made.plan.changes if c.code == "tell"}
    assert orders[done].startswith(f"{done} goes on home to")


def _closed_to_all(scene: Scene, now: datetime) -> list[Event]:
    """Every yard still to be fed is shut, those too that the plan had no time for."""
    left = [*after(scene.plan, now), *(u.yard_id for u in scene.plan.unserved if u.volume_l > 0)]
    return [event(scene.plan, f"shut-{y}", now, YardClosed(y)) for y in dict.fromkeys(left)]


def test_a_depot_called_dry_by_the_log_gives_what_is_left(demo: Scene) -> None:
    now = clock(demo, "10:30")
    stands = state(demo, now, played(demo.plan, now)).depots
    made = replan_here(demo, now, played(demo.plan, now), iterations=3)
    for depot in made.remaining.operation.depots.values():
        for row in depot.stock:
            assert row.on_hand_l == stands[depot.depot_id].stock_l[row.syrup_id]


def test_lines_are_drawn_along_the_road_from_where_a_truck_stands(demo: Scene) -> None:
    now = mid_day(demo, "heavy")
    _, yard_ahead = from_yard_to_yard(demo, "heavy")
    here, there = f"yard:{yard_ahead.place_id}", "depot:home"
    bend = ((-104.0, 46.0), (-104.1, 46.1), (-104.2, 46.0))
    travel = replace(demo.travel, lines={(here, there): bend})
    made = replan_here(replace(demo, travel=travel), now, played(demo.plan, now), iterations=1)
    assert made.remaining.travel.leg("heavy", f"depot:{HERE}heavy", there).geometry == bend


def test_a_starving_yard_far_from_all_others_is_taken_over_whatever_it_pushes_out(demo: Scene) -> None:
    now = clock(demo, "11:20")
    events = [*played(demo.plan, now), event(demo.plan, "out", now, TruckOut("engine"), "heavy")]
    made = replan_here(demo, now, events, iterations=60)
    left = {u.yard_id for u in made.plan.unserved if u.starving and u.volume_l > 0}
    assert not left
