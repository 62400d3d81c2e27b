"""Straight-line travel: what a truck is told before there are roads."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.domain.settings import TravelSettings
from routing.travel.straight.geodesic import geodesic_m
from routing.travel.straight.straight import road_distance_m, road_time_s, straight_travel
from tests.support.samples import BASE, depot, operation, truck, yard


def test_every_depot_and_yard_is_a_place_depots_first() -> None:
    travel = straight_travel(operation([yard("A"), yard("B", 47.1)], [depot("A"), depot("S", 46.5)]))
    assert travel.places == ("depot:A", "depot:S", "yard:A", "yard:B")
    assert travel.positions[3] == (-100.9, 47.1)


def test_distance_is_the_geodesic_times_circuity() -> None:
    far = yard("far", 47.4, -101.9)
    travel = straight_travel(operation([far], travel=TravelSettings(circuity=1.45)))
    expected_m = 1.45 * geodesic_m(BASE, far.position)
    assert travel.leg("T1", "depot:D1", "yard:far").distance_m == pytest.approx(expected_m, abs=2)


def test_leg_is_drawn_from_its_origin_to_its_destination_as_lon_lat() -> None:
    leg = straight_travel(operation([yard("A", 47.0, -101.0)])).leg("T1", "yard:A", "depot:D1")
    assert leg.geometry == ((-101.0, 47.0), (BASE.lon, BASE.lat))


def test_last_mile_counts_on_the_way_in_and_on_the_way_out() -> None:
    def legs(last_mile_s: int) -> list[int]:
        pair = [yard("A", last_mile_s=last_mile_s), yard("B", 47.2, last_mile_s=60)]
        travel = straight_travel(operation(pair))
        ends = [("depot:D1", "yard:A"), ("yard:A", "depot:D1"), ("yard:B", "yard:A"), ("depot:D1", "yard:B")]
        return [travel.leg("T1", *end).drive_s for end in ends]

    plain, muddy = legs(0), legs(420)
    assert [b - a for a, b in zip(plain, muddy, strict=True)] == [420, 420, 420, 0]


def test_staying_in_a_yard_takes_no_drive_even_with_a_last_mile() -> None:
    leg = straight_travel(operation([yard("A", last_mile_s=300)])).leg("T1", "yard:A", "yard:A")
    assert (leg.distance_m, leg.drive_s) == (0, 0)


def test_yard_beside_the_depot_is_no_drive_away() -> None:
    leg = straight_travel(operation([yard("home", BASE.lat, BASE.lon)])).leg("T1", "depot:D1", "yard:home")
    assert (leg.distance_m, leg.drive_s) == (0, 0)


def test_estimate_says_that_it_is_one_and_how_wrong_it_may_be() -> None:
    told = straight_travel(operation(travel=TravelSettings(circuity=1.4, speed_km_per_h=60))).provenance
    assert told.estimated
    assert told.method == "straight"
    for word in ("Estimated", "1.4", "11 %", "28 %", "37 mph"):
        assert word in told.note


@given(st.integers(0, 600_000), st.integers(0, 600_000), st.floats(5, 130))
def test_longer_leg_never_takes_less_time(a_m: int, b_m: int, speed_km_per_h: float) -> None:
    short_s, long_s = road_time_s(sorted((a_m, b_m)), speed_km_per_h)
    assert short_s <= long_s


@given(st.integers(1, 600_000), st.integers(1, 600_000))
def test_short_legs_are_slower_and_none_beats_the_top_speed(a_m: int, b_m: int) -> None:
    short_m, long_m = sorted((a_m, b_m))
    short_s, long_s = road_time_s([short_m, long_m], 55.0)
    assert short_m / short_s <= long_m / (long_s - 1 + 1e-9) + 1e-9
    assert long_m / long_s * 3.6 < 55.0


def test_mean_speed_by_distance_is_as_documented() -> None:
    metres = np.array([2_000, 10_000, 30_000, 100_000])
    km_per_h = metres / road_time_s(metres, 55.0) * 3.6
    assert np.round(km_per_h).tolist() == [25, 35, 42, 50]


def test_speed_tends_to_the_speed_set() -> None:
    assert 5_000_000 / int(road_time_s(5_000_000, 80.0)) * 3.6 == pytest.approx(80.0, rel=0.01)


def test_rounding_never_shortens_a_drive() -> None:
    assert road_distance_m([0.0, 1000.0, 1000.2], 1.3).tolist() == [0, 1300, 1301]
    assert int(road_time_s(1, 55.0)) == 1


def test_no_detour_by_way_of_a_third_place_is_quicker() -> None:
    rng = np.random.default_rng(5)
    spots = zip(rng.uniform(46, 48, 14), rng.uniform(-102, -99, 14), strict=True)
    travel = straight_travel(operation([yard(f"Y{i}", lat, lon) for i, (lat, lon) in enumerate(spots)]))
    for table, slack in ((travel.matrix.drive_s, 1), (travel.matrix.distance_m, 2)):
        for i, j, k in permutations(range(len(travel.places)), 3):
            assert table[i, k] <= table[i, j] + table[j, k] + slack


def test_all_trucks_share_the_estimate() -> None:
    travel = straight_travel(operation(trucks=[truck("T1"), truck("T2", crew=1)]))
    assert travel.matrix_for("T1") is travel.matrix_for("T2")


def test_two_thousand_places_have_a_drive_between_any_two() -> None:
    rng = np.random.default_rng(2)
    spots = zip(rng.uniform(44, 48, 1999), rng.uniform(-104, -98, 1999), strict=True)
    many = operation([yard(f"Y{i}", lat, lon) for i, (lat, lon) in enumerate(spots)])
    travel = straight_travel(many)
    assert travel.matrix.drive_s.shape == (2000, 2000)
