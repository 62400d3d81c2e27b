"""Fuel for climbing, worked out by hand, and what it does to a round."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routing.audit import audit
from routing.domain.travel import Matrix
from routing.planning.evaluate.route_cost import account
from routing.planning.evaluate.state import Judge
from routing.planning.problem.climb import Climb, climb_of
from routing.planning.replan.remaining_day import stand_in
from tests.support.builders import small_case, small_operation, small_plan, straight_travel
from tests.support.hand import along, truck, visit

L_PER_KG_M = 9.80665 / (0.40 * 35.8e6)
"""Litres of diesel to lift a kilogram by a metre: 128,488 Btu/gal, two fifths of it at the wheels."""

UP_M = 300
HILL = Climb(([[0, 0, UP_M], [0, 0, UP_M], [0, 0, 0]],), L_PER_KG_M / 1000)
"""Place 2 lies on a hill, the others below."""


def test_energy_of_a_gallon_is_the_published_one() -> None:
    roads = small_operation().roads
    assert roads.fuel_mj_per_l == pytest.approx(128_488 * 1055.056 / 3.785411784 / 1e6, abs=0.02)


def test_whole_truck_is_lifted_and_the_way_down_costs_nothing() -> None:
    spec = truck(per_m=0.0, fuel_price=2.0, climb=HILL)
    problem = along([0, 1, 100], [visit(2, 800.0)], [spec])
    money = account(problem, 0, (0,))
    laden_kg = spec.tare_g / 1000 + 1000.0
    assert money.fuel_l == pytest.approx(laden_kg * UP_M * L_PER_KG_M)
    assert money.fuel == pytest.approx(2 * money.fuel_l)
    assert 0.5 < money.fuel_l < 3.0


def test_load_for_the_valley_is_left_there_before_the_hill_is_climbed() -> None:
    plain = along([0, 50, 50], [visit(1, 700.0), visit(2, 100.0)], [truck(per_m=0.0, fuel_price=2.0)])
    hilly = replace(plain, trucks=(replace(plain.trucks[0], climb=HILL),))
    valley_first, hill_first = (0, 1), (1, 0)
    assert Judge(plain)(0, valley_first).cost == pytest.approx(Judge(plain)(0, hill_first).cost)
    assert Judge(hilly)(0, valley_first).cost < Judge(hilly)(0, hill_first).cost - 0.01


def test_without_heights_there_is_no_climb() -> None:
    operation = small_operation()
    assert climb_of(operation, straight_travel(operation)) is None


def test_truck_with_a_table_of_its_own_has_its_own_climbs() -> None:
    operation = small_operation()
    travel = straight_travel(operation)
    n = len(travel.places)
    high = replace(travel.matrix, climb_m=np.full((n, n), 7, dtype=np.int64))
    found = climb_of(operation, replace(travel, by_truck={"BIG": high}))
    assert found is not None
    assert found.along(0, (0, 1, 2)) == [0, 0, 0]
    assert found.along(1, (0, 1, 2)) == [0, 7, 7]


def test_hand_made_plan_over_hills_is_judged_by_its_climbs() -> None:
    flat = small_case()
    n = len(flat.travel.places)
    climb_m = np.arange(n * n, dtype=np.int64).reshape(n, n) % 90
    np.fill_diagonal(climb_m, 0)
    matrix = Matrix(flat.travel.matrix.distance_m, flat.travel.matrix.drive_s, climb_m)
    travel = replace(flat.travel, matrix=matrix)
    assert {finding.code for finding in audit(flat.operation, travel, flat.plan).findings} >= {
        "leg",
        "leg_fuel",
    }
    plan = small_plan(flat.operation, travel)
    assert not audit(flat.operation, travel, plan).findings
    assert plan.totals.fuel_l > flat.plan.totals.fuel_l + 0.1
    cheap = replace(flat.operation, roads=replace(flat.operation.roads, climb_efficiency=0.8))
    assert "leg_fuel" in {finding.code for finding in audit(cheap, travel, plan).findings}


def test_truck_that_goes_on_from_a_yard_climbs_from_there() -> None:
    travel = small_case().travel
    n = len(travel.places)
    climb_m = np.arange(n * n, dtype=np.int64).reshape(n, n)
    np.fill_diagonal(climb_m, 0)
    high = replace(travel, matrix=replace(travel.matrix, climb_m=climb_m))
    here, there = travel.places[-1], travel.places[0]
    wider = stand_in(high, {"here": here})
    assert wider.leg("BIG", "depot:here", there).climb_m == high.leg("BIG", here, there).climb_m > 0
    assert wider.leg("BIG", there, "depot:here").climb_m == high.leg("BIG", there, here).climb_m > 0
    assert wider.leg("BIG", "depot:here", here).climb_m == 0
    assert stand_in(travel, {"here": here}).matrix.climb_m is None
