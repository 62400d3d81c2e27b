"""Colonies are followed from their inspection on: every figure here is worked out by hand or conserved."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.audit.evidence.book import Book
from routing.audit.evidence.on_hand import on_hand as audited
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, FedSince, Stores
from routing.domain.ration import ReasonCode
from routing.domain.units import L_PER_US_GAL
from routing.need.on_hand import on_hand, yard_days_of_stores
from routing.need.ration import need_of_day
from routing.need.stores import MOST_DAYS, OnHand
from routing.need.syrup import resolve
from tests.support.builders import small_operation
from tests.support.farm import DAY, farm, group

ZONE = ZoneInfo("America/Chicago")
KG_PER_L = 0.8848 * 0.80 / (1 - 0.186)
"""Stores from a litre of 2:1: 0.8848 kg of sugar (CRC Handbook table at 20 C), 0.80 kept, 18.6 % water."""


def fed(days_before: float, each_l: float, syrup_id: str = "2:1") -> FedSince:
    """A feeding so many days before the first moment of the day."""
    midnight = datetime(DAY.year, DAY.month, DAY.day, tzinfo=ZONE)
    return FedSince(midnight - timedelta(days=days_before), each_l, syrup_id)


def has(one: ColonyGroup, day: date = DAY, **settings: float) -> OnHand:
    """What a colony of the one yard has."""
    return on_hand(one, resolve(farm(one, temperature_c=18.0, **settings)), day)


def eight(days: int, *feedings: FedSince, **more: object) -> ColonyGroup:
    """Eight frames of bees under a pail over the lid: they take a litre a day at 18 C."""
    usual: dict[str, object] = {"strength_frames": 8.0, "stores": Stores(stores_kg=6.0)}
    return group(date=DAY - timedelta(days), feeder_id="pail2", fed=feedings, **{**usual, **more})


def test_use_since_the_inspection_is_taken_off_and_stores_never_fall_below_none() -> None:
    seen = group(stores=Stores(stores_kg=6.0), date=DAY - timedelta(10))
    assert has(seen).stores_kg == pytest.approx(3.0)
    assert has(seen, DAY + timedelta(60)).stores_kg == 0.0
    assert has(seen, date(2025, 1, 1)).stores_kg == 6.0


def test_hive_lighter_than_its_tare_holds_nothing() -> None:
    assert has(group(stores=Stores(gross_kg=30.0, tare_kg=35.0))).stores_kg == 0.0


def test_what_was_fed_is_in_the_comb_or_still_in_the_feeder() -> None:
    found = has(eight(10, fed(2, 5.0)))
    assert found.feeder_l == pytest.approx(3.0)
    assert found.stores_kg == pytest.approx(6.0 - 10 * 0.3 + 2.0 * KG_PER_L, abs=2e-3)
    assert found.feeder_kg == pytest.approx(3.0 * KG_PER_L, abs=2e-3)


def test_bees_that_were_out_of_food_start_from_nothing() -> None:
    found = has(eight(30, fed(1, 5.0)))
    assert found.stores_kg == pytest.approx(KG_PER_L - 0.3, abs=1e-3)


def test_feeding_in_the_afternoon_leaves_the_hours_to_midnight() -> None:
    assert has(eight(10, fed(0.25, 5.0))).feeder_l == pytest.approx(4.75)


def test_feeder_runs_dry_and_is_full_again_with_the_next_feeding() -> None:
    found = has(eight(20, fed(12, 5.0), fed(1, 5.0)))
    assert found.feeder_l == pytest.approx(4.0)
    assert found.taken_l == pytest.approx(6.0)


def test_in_the_cold_nothing_is_taken() -> None:
    found = on_hand(eight(10, fed(2, 5.0)), resolve(farm(temperature_c=5.0)), DAY)
    assert found.feeder_l == pytest.approx(5.0)
    assert found.coming_kg == 0.0


def test_syrup_past_its_keeping_time_is_food_no_more() -> None:
    # 2:1 in a hive at 18 C keeps 34.5 days: 30 days at 30 C, twice as long for 10 degrees cooler, at 28 C.
    weak = eight(50, fed(40, 5.0), strength_frames=0.5)
    found = has(weak)
    assert (found.feeder_l, found.coming_kg) == (0.0, 0.0)
    assert found.keeps_days == pytest.approx(30 * 2**0.2, rel=5e-3)
    assert found.spoilt_l == pytest.approx(5.0 - found.keeps_days * 0.0625, abs=1e-3)


def test_spoilt_syrup_is_tipped_out_before_the_next_feeding() -> None:
    found = has(eight(60, fed(50, 5.0), fed(1, 4.0), strength_frames=0.5))
    assert found.lost_l > 2.0
    assert found.feeder_l == pytest.approx(4.0 - 0.0625)


def test_yard_lasts_as_long_as_its_hungriest_standing_colonies() -> None:
    fat = group(stores=Stores(stores_kg=30.0))
    light = group(stores=Stores(stores_kg=3.0), group="light")
    gone = group(stores=Stores(stores_kg=0.0), group="gone", colonies=0)
    operation = resolve(farm(fat, light, gone))
    assert yard_days_of_stores((fat, light, gone), operation, DAY) == pytest.approx(10.0)
    assert yard_days_of_stores((gone,), operation, DAY) == MOST_DAYS


def test_yard_fed_yesterday_is_not_fed_into_full_feeders_today() -> None:
    hungry = group(2.0, date=DAY - timedelta(16), fed=(fed(0.6, 2 * L_PER_US_GAL),))
    found = need_of_day(farm(hungry), DAY)[0]
    assert not found.doses
    assert found.reason_code is ReasonCode.FEEDER_FULL
    assert not found.starving


def test_sentence_tells_what_was_found_and_what_was_fed_since() -> None:
    hungry = group(2.0, colonies=32, date=date(2025, 9, 1), fed=(fed(2.6, 2 * L_PER_US_GAL),))
    found = need_of_day(farm(hungry), DAY)[0]
    assert (
        "(2.0 lb at the inspection of 1 Sep, 64 gal fed on 13 Sep, 32 gal of it still in feeders)"
        in found.why
    )


def test_feeder_that_holds_spoilt_syrup_is_emptied_cleaned_and_filled() -> None:
    old = group(40, date=DAY - timedelta(39), strength_frames=0.8, feed_left_l=6.0)
    found = need_of_day(farm(old), DAY)[0]
    clean = need_of_day(farm(group(40, date=DAY - timedelta(39), strength_frames=0.8)), DAY)[0]
    assert found.doses[0].service_s == clean.doses[0].service_s + 60.0
    assert found.doses[0].each_l == clean.doses[0].each_l
    assert any("tip it out" in caution and "never top it up" in caution for caution in found.cautions)
    assert not any("pour what is left" in caution for caution in found.cautions)


FEEDINGS = st.lists(
    st.tuples(st.floats(0, 40), st.floats(0, 12), st.sampled_from(["S67", "HF55"])), max_size=6
)
COLONIES = st.builds(
    lambda feeder, frames, kg, left, use, times: ColonyGroup(
        "Y1", "all", DAY - timedelta(40), 10, feeder, frames, Stores(stores_kg=kg), "S67", left, use,
        fed=tuple(fed(before, each, syrup) for before, each, syrup in sorted(times, reverse=True)),
    ),
    st.sampled_from(["frame2", "pail2", "top3", "jar", "tub"]), st.floats(0, 25), st.floats(0, 40),
    st.floats(0, 8), st.floats(0, 0.4), FEEDINGS,
)  # fmt: skip
AIR = st.floats(-5, 35)


def at(air_c: float) -> Operation:
    """The small operation at a temperature."""
    operation = small_operation()
    return replace(operation, feeding=replace(operation.feeding, temperature_c=air_c))


@given(COLONIES, AIR)
def test_all_that_was_poured_is_stored_in_the_feeder_or_tipped_out(one: ColonyGroup, air_c: float) -> None:
    found = on_hand(one, at(air_c), DAY)
    left_l = one.feed_left_l / (one.colonies if one.feeder_id == "tub" else 1)
    poured_l = left_l + sum(row.each_l for row in one.fed)
    accounted_l = found.taken_l + found.feeder_l + found.spoilt_l + found.lost_l
    assert accounted_l == pytest.approx(poured_l, abs=1e-4)


@given(COLONIES, AIR)
def test_audit_follows_a_colony_to_the_same_end(one: ColonyGroup, air_c: float) -> None:
    operation = at(air_c)
    found = on_hand(one, operation, DAY)
    book = Book(operation, None, _Dated(DAY))  # type: ignore[arg-type]
    own = audited(book, one)
    assert own.stores_kg == pytest.approx(found.stores_kg, abs=1e-4)
    assert own.feeder_l == pytest.approx(found.feeder_l, abs=1e-4)
    assert own.coming_kg == pytest.approx(found.coming_kg, abs=1e-4)
    assert own.spoilt_l == pytest.approx(found.spoilt_l, abs=1e-4)


class _Dated:
    """All that the audit asks of a plan to follow a colony."""

    def __init__(self, day: date) -> None:
        self.date = day
