"""A caution that belongs to one stop names its figures: the sun, the air, what a bridge still bears."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from routing.domain.clock import TimeWindow
from routing.domain.places import Health
from routing.domain.plan import Plan, Warning_
from routing.domain.settings import FeedingSettings, ShiftSettings, WorkSettings
from routing.travel.straight.straight import straight_travel
from tests.support.any_day import plan_here
from tests.support.trade import DAY, HOUR, dose, need, operation, truck, yard


def planned(*yards: Any, needs: Any = (), **more: Any) -> Plan:
    op = operation(yards, **more)
    wanted = needs or [need(y.yard_id) for y in yards]
    return plan_here(op, straight_travel(op), DAY, needs=wanted, iterations=20)


def said(plan: Plan, code: str) -> list[Warning_]:
    return [w for w in plan.warnings if w.code == code]


def shift(start_h: float, end_h: float) -> ShiftSettings:
    return ShiftSettings(window=TimeWindow(int(start_h * HOUR), int(end_h * HOUR)))


def test_a_stop_before_sunrise_or_after_sunset_is_cautioned_with_the_time_of_the_sun() -> None:
    """South Dakota on 28 September: sunrise about 07:35, sunset about 19:28 by Chicago's clock."""
    (night,) = said(planned(yard("A"), shift=shift(0.2, 4)), "dark")
    assert (night.place_id, night.truck_id) == ("A", "T1")
    assert "sunrise there is at about 07:3" in night.text
    (evening,) = said(planned(yard("A"), shift=shift(19, 23)), "dark")
    assert "sunset there is at about 19:2" in evening.text
    assert not said(planned(yard("A"), shift=shift(9, 17)), "dark")


def test_opening_hives_at_an_hour_too_cold_is_cautioned_with_the_temperature_then() -> None:
    feeding = FeedingSettings(syrup_id="S67", margin=0.0, temperature_c=18.0, low_c=2.0, min_feed_c=10.0)
    frame2 = operation([yard("A")]).feeders["frame2"]
    opened = {"frame2": replace(frame2, opens_hive=True)}
    cold = planned(yard("A"), shift=shift(0.2, 4), feeding=feeding, feeders=opened)
    (word,) = said(cold, "cold_hour")
    assert "under the 10 C for opening hives" in word.text
    assert not said(planned(yard("A"), shift=shift(12, 17), feeding=feeding, feeders=opened), "cold_hour")
    closed = {"frame2": frame2}
    assert not said(planned(yard("A"), shift=shift(0.2, 4), feeding=feeding, feeders=closed), "cold_hour")


def test_a_bridge_that_bears_little_more_says_what_not_to_have_skipped() -> None:
    """300 L at A, 300 L at B behind a bridge: with A skipped the truck would be 398 kg too heavy."""
    plan = planned(
        yard("A", km=5.0), yard("B", km=10.0, max_gross_kg=4450.0),
        shift=shift(8, 17), work=WorkSettings(),
    )  # fmt: skip
    stops = [s for s in plan.routes[0].stops if s.kind == "yard"]
    assert [s.place_id for s in stops] == ["A", "B"]
    (word,) = said(plan, "bridge_slack")
    assert (word.place_id, word.truck_id) == ("B", "T1")
    spare_kg = 4450.0 - stops[0].after.gross_kg
    assert 0 < spare_kg < 300 * 1.327
    assert f"{int(spare_kg / 1.3269)} L less than planned" in word.text
    assert "skipped a stop since Shop" in word.text
    wide = planned(yard("A", km=5.0), yard("B", km=10.0, max_gross_kg=6450.0), shift=shift(8, 17))
    assert not said(wide, "bridge_slack")


def test_empties_from_watched_yards_are_cleaned_before_they_go_out_again() -> None:
    pail = dose(8, feeder_id="pail2", swapped=True)
    plan = planned(
        yard("A", health=Health.WATCH), needs=[need("A", pail)], trucks=[truck()],
        work=WorkSettings(pail_clean_s=180.0),
    )  # fmt: skip
    (word,) = said(plan, "watch_empties")
    assert "8 empty pails from Yard A" in word.text
    assert "at Shop before they go out again, about 24 min" in word.text
    assert not said(planned(yard("A"), needs=[need("A", pail)]), "watch_empties")
