from __future__ import annotations

import pytest

from routing.domain.feed_settings import UptakeSettings
from routing.domain.supplies import FeederPosition
from routing.domain.units import L_PER_US_GAL
from routing.need.uptake import days_to_empty, uptake_l_per_day

LID, TOP, ENTRANCE = FeederPosition.LID, FeederPosition.TOP, FeederPosition.ENTRANCE


def test_strong_colony_takes_a_litre_a_day() -> None:
    assert uptake_l_per_day(8, LID, 20.0) == pytest.approx(1.0)


@pytest.mark.parametrize("frames", [2.0, 3.0, 4.0])
def test_weak_colony_takes_a_quarter_to_half_a_litre(frames: float) -> None:
    assert 0.25 <= uptake_l_per_day(frames, LID, 20.0) <= 0.5


@pytest.mark.parametrize("frames", [8.0, 9.0, 10.0, 14.0])
def test_two_gallon_pail_lasts_a_strong_colony_about_a_week(frames: float) -> None:
    assert 6.0 <= days_to_empty(2 * L_PER_US_GAL, uptake_l_per_day(frames, LID, 20.0)) <= 8.0


def test_nine_kg_of_sugar_leave_a_hive_top_trough_in_about_five_days() -> None:
    litres = 9.0 / (1.32675 * 2 / 3)
    assert days_to_empty(litres, uptake_l_per_day(9, TOP, 20.0)) == pytest.approx(5.0, abs=0.3)


def test_cold_slows_and_stops_the_taking_sooner_outside_the_hive() -> None:
    assert uptake_l_per_day(10, LID, 12.0) < uptake_l_per_day(10, LID, 18.0)
    assert uptake_l_per_day(10, LID, 7.0) == 0.0
    assert uptake_l_per_day(10, ENTRANCE, 10.0) == 0.0 < uptake_l_per_day(10, LID, 10.0)
    assert days_to_empty(5.0, uptake_l_per_day(10, LID, 5.0)) == float("inf")


def test_four_frames_take_from_a_jar_what_a_keeper_saw() -> None:
    """A US quart in three to four days on a four-frame nucleus, 0.24 to 0.32 L a day (one page, weak)."""
    assert 0.2 <= uptake_l_per_day(4, ENTRANCE, 20.0) <= 0.35


def test_what_bees_take_is_the_keeper_s_to_set() -> None:
    own = UptakeSettings(l_per_frame_day=0.3, lid_frames=6.0)
    assert uptake_l_per_day(8, LID, 20.0, own) == pytest.approx(0.3 * 6)
