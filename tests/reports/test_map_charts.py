"""The chart of tanks and weight: it shows what the plan says."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.domain.fleet import Tank
from routing.reports.map.charts import day_chart, gross_track, level_tracks, nice_step
from routing.reports.words.format import Units
from tests.support.builders import small_case

US = Units("us", "USD")


@pytest.fixture(scope="module")
def case():
    return small_case()


def test_level_falls_while_pouring_and_stays_while_driving(case):
    route, truck = case.plan.routes[0], case.operation.trucks["BIG"]
    track = level_tracks(route, truck)["B1"]
    yard = next(stop for stop in route.stops if stop.place_id == "Y2")
    begin, leave = ((m - route.start).total_seconds() for m in (yard.begin, yard.leave))
    levels = dict(reversed(track))
    assert levels[begin] == pytest.approx(560.0)
    assert levels[leave] == pytest.approx(260.0)


def test_weight_never_passes_the_legal_limit_line(case):
    for route in case.plan.routes:
        limit = case.operation.trucks[route.truck_id].gvwr_kg
        assert max(kg for _, kg in gross_track(route)) <= limit


def test_legal_limit_is_drawn_above_every_weight(case):
    svg = ET.fromstring(day_chart(case.plan.routes[0], case.operation.trucks["BIG"], US, "UTC", "c"))
    lines = {e.get("class"): e.get("points", "") for e in svg.iter("polyline")}
    heights = [float(y) for y in re.findall(r",([\d.]+)", lines["gross"])]
    limit = float(re.findall(r",([\d.]+)", lines["limit"])[0])
    assert all(y >= limit for y in heights)


def test_hours_under_the_chart_are_local(case):
    svg = ET.fromstring(
        day_chart(case.plan.routes[0], case.operation.trucks["BIG"], US, "America/Chicago", "c")
    )
    hours = [e.text for e in svg.iter("text") if e.get("class") == "hour"]
    assert hours[0] == "07:00"
    assert hours == sorted(hours)


def test_chart_is_described_for_those_who_do_not_see_it(case):
    svg = ET.fromstring(day_chart(case.plan.routes[0], case.operation.trucks["BIG"], US, "UTC", "c"))
    assert svg.get("role") == "img"
    ids = {e.get("id") for e in svg.iter() if e.get("id")}
    assert set(svg.get("aria-labelledby").split()) <= ids
    assert "legal limit 19,500 lb" in svg.find("desc").text


def test_truck_without_tanks_has_a_chart_of_its_weight(case):
    truck = replace(case.operation.trucks["BIG"], tanks=())
    route = case.plan.routes[0]
    bare = tuple(replace(s, after=replace(s.after, tanks={})) for s in route.stops)
    svg = day_chart(replace(route, stops=bare), truck, US, "UTC", "c")
    assert 'class="gross"' in svg


def test_tank_names_cannot_break_the_drawing(case):
    truck = replace(case.operation.trucks["BIG"], tanks=(Tank('<&">', 100.0),))
    ET.fromstring(day_chart(case.plan.routes[0], truck, US, "UTC", "c"))


@given(st.floats(0.01, 1e6), st.integers(2, 10))
def test_axis_steps_are_round_and_few(span, most):
    step = nice_step(span, most)
    assert span / step <= most * (1 + 1e-6)
    assert span / step > most / 2.6
