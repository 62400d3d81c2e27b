from __future__ import annotations

import pytest

from routing.domain.supplies import FeederPosition
from routing.domain.units import L_PER_US_GAL
from routing.need.uptake import days_to_empty, taken_before_spoiling_l, uptake_l_per_day

LID, TOP, ENTRANCE = FeederPosition.LID, FeederPosition.TOP, FeederPosition.ENTRANCE


def test_strong_colony_takes_a_litre_a_day() -> None:
    assert uptake_l_per_day(8, LID, 20.0) == pytest.approx(1.0)


@pytest.mark.parametrize("frames", [2.0, 3.0, 4.0])
def test_weak_colony_takes_a_quarter_to_half_a_litre(frames: float) -> None:
    assert 0.25 <= uptake_l_per_day(frames, LID, 20.0) <= 0.5


@pytest.mark.parametrize("frames", [8.0, 9.0, 10.0, 14.0])
def test_two_gallon_pail_lasts_a_strong_colony_about_a_week(frames: float) -> None:
    assert 6.0 <= days_to_empty(2 * L_PER_US_GAL, frames, LID, 20.0) <= 8.0


def test_nine_kg_of_sugar_leave_a_hive_top_trough_in_about_five_days() -> None:
    litres = 9.0 / (1.32675 * 2 / 3)
    assert days_to_empty(litres, 9, TOP, 20.0) == pytest.approx(5.0, abs=0.3)


def test_cold_slows_and_stops_the_taking_sooner_outside_the_hive() -> None:
    assert uptake_l_per_day(10, LID, 12.0) < uptake_l_per_day(10, LID, 18.0)
    assert uptake_l_per_day(10, LID, 7.0) == 0.0
    assert uptake_l_per_day(10, ENTRANCE, 10.0) == 0.0 < uptake_l_per_day(10, LID, 10.0)
    assert days_to_empty(5.0, 10, LID, 5.0) == float("inf")


def test_longer_keeping_syrup_lets_more_be_taken() -> None:
    assert taken_before_spoiling_l(4, LID, 20.0, 5.0) == pytest.approx(2.5)
    assert taken_before_spoiling_l(4, LID, 20.0, 30.0) == pytest.approx(15.0)
