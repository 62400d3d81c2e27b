"""Rounds still to come, the date that the goal is met, and what would meet it in time."""

from __future__ import annotations

from datetime import date, timedelta

from routing.domain.places import Stores
from routing.domain.ration import YardNeed
from routing.domain.units import L_PER_US_GAL
from routing.need.rounds import MOST_ROUNDS, Pace, larger_feeder_l, met_on, rounds_at, sooner_interval_days
from tests.support.farm import DAY, group, need


def pace(left_l: float = 10.0, **more: float) -> Pace:
    usual = {
        "per_round_l": 4.0,
        "use_l_per_day": 0.2,
        "planned_days": 10.0,
        "due_days": 4.0,
        "uptake_l_per_day": 1.0,
    }
    return Pace(left_l, **{**usual, **more})


def test_each_round_brings_what_the_feeder_holds_less_what_is_eaten_until_then() -> None:
    """4 L a round less 10 x 0.2 L eaten leaves 2 L: five rounds for 10 L."""
    assert rounds_at(pace(), 10.0) == 5
    assert met_on(pace(), DAY) == DAY + timedelta(days=50)
    assert rounds_at(pace(0.0), 10.0) == 0


def test_a_feeder_that_brings_no_more_than_is_eaten_never_meets_the_goal() -> None:
    assert rounds_at(pace(per_round_l=2.0), 10.0) == MOST_ROUNDS
    assert met_on(pace(per_round_l=2.0), DAY) is None


def test_coming_when_the_feeder_is_empty_may_meet_the_date() -> None:
    """Every 4 days a round leaves 3.2 L: four rounds, 16 days."""
    assert sooner_interval_days(pace(), DAY, DAY + timedelta(days=16)) == 4.0
    assert sooner_interval_days(pace(), DAY, DAY + timedelta(days=15)) is None
    assert sooner_interval_days(pace(due_days=12.0), DAY, DAY + timedelta(days=90)) is None


def test_a_larger_feeder_is_sized_for_the_visits_that_are_left_and_what_bees_take_down() -> None:
    """Two visits in 20 days: 10 / 2 + 10 x 0.2 = 7 L."""
    assert larger_feeder_l(pace(), DAY, DAY + timedelta(days=20)) == 7.0
    assert larger_feeder_l(pace(uptake_l_per_day=0.5), DAY, DAY + timedelta(days=20)) is None
    assert larger_feeder_l(pace(), DAY, DAY + timedelta(days=9)) is None


def fed(**more: object) -> YardNeed:
    usual = {"next_visit_days": 7, "feed_by": date(2025, 10, 15)}
    return need(group(30, feeder_id="frame2", strength_frames=10.0), **{**usual, **more})


def missed(found: YardNeed) -> str:
    return next((c for c in found.outlook if "feed_by" in c), "")


def test_rounds_that_end_after_the_last_feeding_date_are_cautioned_with_what_would_meet_it() -> None:
    """60 lb short with a gallon a week: the jar of a gallon ends in winter, three gallons do not."""
    small = missed(
        need(group(30, feeder_id="tray", strength_frames=10.0), next_visit_days=7, feed_by=date(2025, 10, 15))
    )
    assert "after 15 Oct (feed_by)" in small
    assert "a feeder that holds" in small
    assert not missed(need(group(80, feeder_id="trough"), next_visit_days=7, feed_by=date(2025, 10, 15)))
    assert not missed(fed(feed_by=None))
    assert not missed(fed(goal="survive"))


def test_thin_syrup_is_told_that_a_stronger_one_would_do() -> None:
    thin = need(
        group(70, feeder_id="frame2", syrup_id="1:1", strength_frames=10.0, daily_use_kg=0.1),
        next_visit_days=7, feed_by=DAY + timedelta(days=7), conversion=None,
    )  # fmt: skip
    assert "2:1 in its place" in missed(thin)


def test_the_next_visit_is_when_the_feeder_is_empty_or_the_syrup_spoils() -> None:
    """Ten frames at a frame feeder take 10 x 0.125 x 1.3 = 1.6 L a day: two gallons last 4.7 days."""
    quick = need(group(30, strength_frames=10.0), next_visit_days=10)
    assert 4.5 <= quick.next_visit_days <= 4.8
    assert "feeder empty in about 5 days (come then, not in 10 days)" in quick.why
    weak = need(group(1, syrup_id="1:1", strength_frames=2.0, feeder_id="pail2"), temperature_c=25.0)
    assert 1 <= weak.next_visit_days < 2 * L_PER_US_GAL / (2 * 0.125)


def test_nuclei_of_five_frames_are_not_asked_to_hold_ninety_pounds() -> None:
    nucleus = group(5.5, feeder_id="jar", strength_frames=5.0, hive_frames=5)
    found = need(nucleus, daily_use_kg=0.27, next_visit_days=7)
    assert "each of the 22 lb wanted" in found.why
    full = need(group(stores=Stores(stores_kg=10.1), hive_frames=5))
    assert not full.doses
