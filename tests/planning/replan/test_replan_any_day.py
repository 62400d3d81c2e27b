"""Whatever happens on whatever day: the rest of it is planned by the rules, and what is done stays done."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache

import pytest

from routing.domain.errors import NoPlanError
from routing.log.events import Event
from routing.log.facts import (
    DepotClosed,
    Fed,
    Gauged,
    Poured,
    Skipped,
    SkipReason,
    TruckBack,
    TruckOut,
    Urgent,
    YardClosed,
)
from tests.support.any_day import plan_here
from tests.support.any_operation import any_operation
from tests.support.day_player import (
    Driven,
    Scene,
    check,
    demo_scene,
    event,
    played,
    played_on,
    replan_here,
    state,
)

BROKE = (47, 60, 117, 164, 265)
SEEDS = (*range(46), *BROKE)


@pytest.fixture(scope="module")
def demo() -> Scene:
    return demo_scene()


def mishaps(scene: Scene, events: list[Event], now: datetime, rng: random.Random) -> Iterator[Event]:
    """What goes wrong at a moment: by chance any of the things a crew or the office can report."""
    plan = scene.plan
    until = rng.choice((None, now + timedelta(minutes=rng.randrange(5, 240))))
    mark = f"{plan.plan_id}-{now:%H%M%S}"
    if rng.random() < 0.25:
        yield event(plan, f"{mark}-out", now, TruckOut("engine"), rng.choice(list(scene.operation.trucks)))
    out = [t for t, truck in state(scene, now, events).trucks.items() if truck.status == "out"]
    for truck_id in out:
        if rng.random() < 0.5:
            yield event(plan, f"{mark}-{truck_id}-back", now, TruckBack(), truck_id)
    if rng.random() < 0.3:
        tanks = [(t.truck_id, tank) for t in scene.operation.trucks.values() for tank in t.tanks]
        if tanks:
            truck_id, tank = rng.choice(tanks)
            level_l = round(tank.capacity_l * rng.random(), 1)
            yield event(plan, f"{mark}-gauge", now, Gauged(tank.tank_id, level_l), truck_id)
    if rng.random() < 0.3:
        depot_id = rng.choice(list(scene.operation.depots))
        yield event(plan, f"{mark}-depot", now, DepotClosed(depot_id, until))
    if rng.random() < 0.4:
        yield event(plan, f"{mark}-call", now, Urgent(rng.choice(list(scene.operation.yards))))
    if rng.random() < 0.3:
        yard_id = rng.choice(list(scene.operation.yards))
        yield event(plan, f"{mark}-yard", now, YardClosed(yard_id, until))
    for truck in state(scene, now, events).trucks.values():
        kind, _, place_id = (truck.place or "").partition(":")
        if truck.status != "working" or truck.underway or kind != "yard" or rng.random() < 0.4:
            continue
        if rng.random() < 0.5:
            fact: Skipped | Fed = Skipped(place_id, rng.choice(list(SkipReason)), "", until)
        else:
            pours = [p for r in plan.routes for s in r.stops if s.place_id == place_id for p in s.pour]
            some = [p for p in pours if p.colonies > 1][:1]
            if not some:
                continue
            given = some[0]
            count = given.colonies // 2
            fact = Fed(
                place_id,
                (
                    Poured(
                        given.group,
                        given.feeder_id,
                        given.syrup_id,
                        count,
                        round(given.volume_l * count / given.colonies * rng.uniform(0.8, 1.1), 2),
                        given.tank_id,
                        count if given.pails else 0,
                    ),
                ),
            )
        yield event(plan, f"{mark}-{truck.truck_id}", now, fact, truck.truck_id)


def some_moment(scene: Scene, after: datetime | None, rng: random.Random) -> datetime:
    begins = after or min(route.start for route in scene.plan.routes)
    ends = max(route.end for route in scene.plan.routes)
    return begins + max(timedelta(minutes=1), (ends - begins) * rng.uniform(0.02, 0.9))


def sound(scene: Scene, now: datetime, events: list[Event], made: Driven) -> None:
    """By the rules; nothing done is planned again; every yard left is planned or accounted for."""
    check(made)
    stands = state(scene, now, events)
    planned = {s.place_id for r in made.plan.routes for s in r.stops if s.kind == "yard"}
    left = {u.yard_id for u in made.plan.unserved}
    part = {u.yard_id for u in scene.plan.unserved if u.volume_l > 0}
    done = {y for y, yard in stands.yards.items() if yard.status == "done"} - part
    assert not done & (planned | left)
    assert done | planned | left | part >= set(scene.operation.yards)
    out = {t for t, truck in stands.trucks.items() if truck.status in ("out", "finished")}
    assert not out & {route.truck_id for route in made.plan.routes}
    assert all(route.start >= now - timedelta(hours=12) for route in made.plan.routes)
    for route in made.plan.routes:
        assert [c for c in made.plan.changes if (c.code, c.truck_id) == ("tell", route.truck_id)]
    assert all(c.text for c in made.plan.changes)


@cache
def live_through(seed: int) -> int:
    """Plan some day, and re-plan it twice at chance moments; the number of re-plans made."""
    operation, travel, day = any_operation(seed)
    if not any(truck.available_on(day) for truck in operation.trucks.values()):
        return 0
    plan = replace(plan_here(operation, travel, day, 15), plan_id="p0")
    return replan_twice(Scene(operation, travel, plan), random.Random(seed)) if plan.routes else 0


def replan_twice(scene: Scene, rng: random.Random) -> int:
    now = some_moment(scene, None, rng)
    late = timedelta(minutes=rng.choice((0, 0, -3, 12, 45)))
    events = played(scene.plan, now, late)
    for turn in range(1, 3):
        events += mishaps(scene, events, now, rng)
        try:
            made = replan_here(scene, now, events, iterations=8)
        except NoPlanError:
            return turn - 1
        made = replace(made, plan=replace(made.plan, plan_id=f"p{turn}"))
        sound(scene, now, events, made)
        if not made.plan.routes:
            return turn
        since, earlier = now, (*scene.earlier, scene.plan)
        scene = replace(scene, plan=made.plan, earlier=earlier)
        now = some_moment(scene, since, rng)
        events += played_on(made, since, now, late)
    return 2


@pytest.mark.parametrize("seed", SEEDS)
def test_the_rest_of_any_day_keeps_the_rules_and_what_is_done(seed: int) -> None:
    live_through(seed)


def test_many_of_these_days_are_planned_again() -> None:
    assert sum(map(live_through, SEEDS)) >= 30


@pytest.mark.parametrize("seed", range(4))
def test_the_rest_of_the_demo_day_keeps_the_rules_whatever_happens(demo: Scene, seed: int) -> None:
    assert replan_twice(demo, random.Random(seed))
