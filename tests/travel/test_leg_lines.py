"""Lines of the legs that a plan drives: asked for once each, and never a reason to lose the plan."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace

import pytest

from routing.domain.operation import Operation
from routing.domain.settings import TravelSettings
from routing.domain.travel import Provenance
from routing.travel.leg_lines import driven_legs, redrawn, with_lines
from routing.travel.server.server import server_travel
from tests.support.builders import small_case
from tests.support.fake_server import Fake, running, send
from tests.support.samples import operation, truck, yard

A, B = "depot:D1", "yard:A"


@pytest.fixture
def fake() -> Iterator[Fake]:
    with running() as server:
        yield server


def asks(fake: Fake, kind: str = "osrm", gross: tuple[float, ...] = (7000.0,)) -> Operation:
    settings = TravelSettings(method="server", server_url=fake.url, server_kind=kind)
    fleet = [truck(f"T{i}", gvwr_kg=kg) for i, kg in enumerate(gross, start=1)]
    return operation([yard("A", 46.9, -100.9), yard("B", 47.0, -100.7)], trucks=fleet, travel=settings)


def routes(fake: Fake) -> int:
    return sum("/route" in path for path in fake.asked)


@pytest.mark.parametrize("kind", ["osrm", "valhalla"])
def test_leg_asked_for_has_the_servers_line_between_its_own_ends(fake: Fake, kind: str) -> None:
    asked = asks(fake, kind)
    travel = server_travel(asked)
    assert routes(fake) == 0
    line = with_lines(asked, travel, [("T1", A, B)]).leg("T1", A, B).geometry
    assert (line[0], line[-1]) == ((-100.8, 46.8), (-100.9, 46.9))
    middle = (-100.84, 46.85) if kind == "osrm" else (-100.85, 46.8)
    assert line[1] == pytest.approx(middle, abs=2e-6)


def test_distances_and_other_legs_stay_as_they_were(fake: Fake) -> None:
    asked = asks(fake)
    before = server_travel(asked)
    after = with_lines(asked, before, [("T1", A, B)])
    assert after.matrix is before.matrix
    assert after.leg("T1", B, A).geometry == before.leg("T1", B, A).geometry


def test_trucks_that_share_a_table_share_a_line(fake: Fake) -> None:
    asked = asks(fake, gross=(7000.0, 12_000.0))
    travel = with_lines(asked, server_travel(asked), [("T1", A, B), ("T2", A, B), ("T1", A, B)])
    assert routes(fake) == 1
    assert travel.leg("T2", A, B).geometry == travel.leg("T1", A, B).geometry


def test_trucks_with_tables_of_their_own_have_lines_of_their_own(fake: Fake) -> None:
    asked = asks(fake, "valhalla", gross=(7000.0, 12_000.0))
    travel = with_lines(asked, server_travel(asked), [("T1", A, B), ("T2", A, B)])
    assert routes(fake) == 2
    assert set(travel.lines_by_truck) == {"T1", "T2"}


def test_server_that_dies_before_the_lines_costs_the_picture_not_the_plan(fake: Fake) -> None:
    asked = asks(fake)
    travel = server_travel(asked)
    fake.instead = lambda number, handler: (
        send(handler, 404, "application/json", b'{"code":"InvalidUrl"}') or True
    )
    after = with_lines(asked, travel, [("T1", A, B), ("T1", B, A)])
    assert routes(fake) == 1
    assert after.leg("T1", A, B).geometry == travel.leg("T1", A, B).geometry
    (warning,) = after.warnings
    assert warning.code == "lines_missing"
    assert "drawn straight" in warning.text


def test_route_without_a_line_is_told(fake: Fake) -> None:
    asked = asks(fake)
    travel = server_travel(asked)
    fake.spoil = lambda answer: {"code": "Ok", "routes": []}
    (warning,) = with_lines(asked, travel, [("T1", A, B)]).warnings
    assert "no line to draw" in warning.text


def test_line_that_leaves_the_earth_is_not_drawn(fake: Fake) -> None:
    asked = asks(fake)
    travel = server_travel(asked)
    line = {"type": "LineString", "coordinates": [[-100.8, 46.8], [1e999, 46.9], [-100.9, 46.9]]}
    fake.instead = lambda number, handler: (
        send(
            handler, 200, "application/json",
            json.dumps({"code": "Ok", "routes": [{"geometry": line}]}).replace("Infinity", "1e999").encode(),
        )
        or True
    )  # fmt: skip
    after = with_lines(asked, travel, [("T1", A, B)])
    assert "nowhere on earth" in after.warnings[0].text
    assert after.leg("T1", A, B).geometry == travel.leg("T1", A, B).geometry


def test_other_travel_needs_no_lines() -> None:
    case = small_case()
    assert with_lines(case.operation, case.travel, driven_legs(case.plan)) is case.travel


def test_every_leg_of_a_plan_is_asked_for_once_and_none_that_goes_nowhere() -> None:
    case = small_case()
    legs = driven_legs(case.plan)
    assert len(set(legs)) == len(legs) > 5
    assert all(a != b for _, a, b in legs)
    driven_m = sum(stop.leg.distance_m for route in case.plan.routes for stop in route.stops)
    assert driven_m <= sum(case.travel.leg(*leg).distance_m for leg in legs) * 2
    assert {leg[0] for leg in legs} == {route.truck_id for route in case.plan.routes if len(route.stops) > 2}


def test_redrawn_plan_differs_in_its_lines_alone() -> None:
    case = small_case()
    truck_id, a, b = driven_legs(case.plan)[0]
    line = ((1.0, 2.0), (3.123456789, 4.0), (5.0, 6.0))
    drawn = redrawn(case.plan, replace(case.travel, lines={(a, b): line}))
    changed = [
        (old, new)
        for was, now in zip(case.plan.routes, drawn.routes, strict=True)
        for old, new in zip(was.stops, now.stops, strict=True)
        if (a, b) and new.leg.geometry[1:2] == ((3.123457, 4.0),)
    ]
    assert changed
    for old, new in changed:
        assert replace(new, leg=old.leg) == old
        assert (new.leg.distance_m, new.leg.drive_s, new.leg.fuel_l) == (
            old.leg.distance_m, old.leg.drive_s, old.leg.fuel_l,
        )  # fmt: skip
    assert truck_id


def test_estimate_that_stood_in_for_a_server_asks_for_no_lines(fake: Fake) -> None:
    asked = asks(fake)
    travel = replace(server_travel(asked), provenance=Provenance("straight", "Estimated", estimated=True))
    assert with_lines(asked, travel, [("T1", A, B)]) is travel
    assert routes(fake) == 0
