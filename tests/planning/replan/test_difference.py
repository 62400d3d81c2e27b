"""What a re-plan takes more or less than was told: held against the totals of the plans themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from routing.domain.plan import Plan
from routing.log.day import DayNow
from routing.log.facts import TruckOut
from routing.planning.replan.difference import difference
from routing.reports.words.changes import difference_text
from tests.support.day_player import Scene, demo_scene, event, played, replan_here, state


@pytest.fixture(scope="module")
def scene() -> Scene:
    return demo_scene()


@pytest.fixture(scope="module")
def dawn(scene: Scene) -> DayNow:
    first = min(route.start for route in scene.plan.routes) - timedelta(minutes=30)
    return state(scene, first, played(scene.plan, first))


def test_the_same_plan_takes_the_same(scene: Scene, dawn: DayNow) -> None:
    found = difference(scene.operation, scene.plan, scene.plan, dawn)
    assert (found.work_s, found.distance_m, found.fuel_l, found.volume_l, found.cost) == (0, 0, 0, 0, 0)


def test_a_truck_that_stays_at_home_saves_what_its_route_would_have_taken(scene: Scene, dawn: DayNow) -> None:
    gone, *others = scene.plan.routes
    found = difference(scene.operation, scene.plan, replace(scene.plan, routes=tuple(others)), dawn)
    money = gone.totals.cost
    assert found.work_s == -gone.totals.work_s
    assert found.distance_m == -gone.totals.distance_m
    assert found.fuel_l == pytest.approx(-gone.totals.fuel_l, abs=0.01)
    assert found.volume_l == pytest.approx(-gone.totals.volume_l, abs=0.01)
    assert found.cost == pytest.approx(-(money.labor + money.fuel + money.vehicle), abs=0.02)


def test_in_mid_day_only_what_is_ahead_counts(scene: Scene) -> None:
    now = datetime(2026, 9, 28, 11, 20, tzinfo=ZoneInfo(scene.plan.timezone))
    events = [*played(scene.plan, now), event(scene.plan, "out", now, TruckOut("clutch"), "light")]
    made = replan_here(scene, now, events, iterations=10).plan
    found = made.difference
    assert found is not None
    light = next(route for route in scene.plan.routes if route.truck_id == "light")
    ahead_l = sum(p.volume_l for s in light.stops if s.leave > now for p in s.pour)
    heavy_l = sum(p.volume_l for r in made.routes for s in r.stops for p in s.pour)
    told = next(route for route in scene.plan.routes if route.truck_id == "heavy")
    told_l = sum(p.volume_l for s in told.stops if s.leave > now for p in s.pour)
    assert found.volume_l == pytest.approx(heavy_l - told_l - ahead_l, abs=0.01)
    heavy = next(route for route in made.routes if route.truck_id == "heavy")
    change_s = (heavy.end - told.end).total_seconds() - (light.end - now).total_seconds()
    assert found.work_s == pytest.approx(change_s, abs=1)
    assert found.fuel_l < 0


def test_what_each_truck_takes_more_or_less_adds_up_to_the_day(scene: Scene) -> None:
    now = datetime(2026, 9, 28, 11, 20, tzinfo=ZoneInfo(scene.plan.timezone))
    events = [*played(scene.plan, now), event(scene.plan, "out", now, TruckOut("clutch"), "light")]
    made = replan_here(scene, now, events, iterations=10).plan
    found = made.difference
    assert found is not None
    assert list(found.trucks) == ["heavy", "light"]
    own = found.trucks.values()
    assert sum(one.work_s for one in own) == pytest.approx(found.work_s, abs=2)
    assert sum(one.distance_m for one in own) == pytest.approx(found.distance_m, abs=2)
    assert sum(one.fuel_l for one in own) == pytest.approx(found.fuel_l, abs=0.01)
    assert sum(one.cost for one in own) == pytest.approx(found.cost, abs=0.02)
    light = next(route for route in scene.plan.routes if route.truck_id == "light")
    assert found.trucks["light"].work_s == -round((light.end - now).total_seconds())


def test_the_difference_is_told_in_the_units_of_the_operation(scene: Scene, dawn: DayNow) -> None:
    fewer: Plan = replace(scene.plan, routes=scene.plan.routes[1:])
    costs = difference(scene.operation, scene.plan, fewer, dawn)
    text = difference_text(replace(fewer, replaces="morning", difference=costs))
    assert "gal less fuel" in text
    assert "mi less driving" in text
    assert "USD less in wages, fuel and wear" in text
    none = difference(scene.operation, scene.plan, scene.plan, dawn)
    assert difference_text(replace(fewer, replaces="morning", difference=none)).endswith(
        "about the same work and fuel"
    )
    assert difference_text(scene.plan) == ""
