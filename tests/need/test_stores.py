from __future__ import annotations

from datetime import date, timedelta

import pytest

from routing.domain.places import Frame, Stores
from routing.domain.settings import FeedingSettings
from routing.need.stores import (
    MOST_DAYS,
    days_of_stores,
    judged_kg,
    net_use_kg_per_day,
    stores_now_kg,
    yard_days_of_stores,
)
from tests.support.farm import DAY, group

FEEDING = FeedingSettings(daily_use_kg=0.3)


@pytest.mark.parametrize(
    ("stores", "kg"),
    [
        (Stores(stores_kg=12.5), 12.5),
        (Stores(honey_frames=4, frame=Frame.DEEP), 4 * 2.72),
        (Stores(honey_frames=4, frame=Frame.MEDIUM), 4 * 1.59),
        (Stores(gross_kg=52.0, tare_kg=35.0), 17.0),
    ],
)
def test_stores_are_judged_whichever_way_the_row_gives(stores: Stores, kg: float) -> None:
    assert judged_kg(stores, FEEDING) == pytest.approx(kg)


def test_use_since_the_inspection_is_taken_off_and_stores_never_fall_below_none() -> None:
    seen = group(stores=Stores(stores_kg=6.0), date=DAY - timedelta(10))
    assert stores_now_kg(seen, FEEDING, DAY) == pytest.approx(3.0)
    assert stores_now_kg(seen, FEEDING, DAY + timedelta(60)) == 0.0
    assert stores_now_kg(seen, FEEDING, date(2025, 1, 1)) == 6.0


def test_hive_lighter_than_its_tare_holds_nothing() -> None:
    assert stores_now_kg(group(stores=Stores(gross_kg=30.0, tare_kg=35.0)), FEEDING, DAY) == 0.0


def test_flow_adds_to_the_stores_of_today_but_nobody_counts_on_it_for_tomorrow() -> None:
    half = group(stores=Stores(stores_kg=6.0), flow_kg_per_day=0.1, date=DAY - timedelta(10))
    assert net_use_kg_per_day(half, FEEDING) == pytest.approx(0.2)
    assert stores_now_kg(half, FEEDING, DAY) == pytest.approx(4.0)
    assert days_of_stores(half, FEEDING, DAY) == pytest.approx(4.0 / 0.3)
    light = group(stores=Stores(stores_kg=2.3 * 0.45359237), flow_kg_per_day=0.6 * 0.45359237)
    assert days_of_stores(light, FEEDING, DAY) == pytest.approx(3.5, abs=0.1)


def test_a_row_s_own_use_stands_before_the_operation_s() -> None:
    nucleus = group(stores=Stores(stores_kg=6.0), daily_use_kg=0.1)
    assert days_of_stores(nucleus, FEEDING, DAY) == pytest.approx(60.0)
    assert days_of_stores(group(stores=Stores(stores_kg=6.0)), FEEDING, DAY) == pytest.approx(20.0)
    assert days_of_stores(group(daily_use_kg=0.0), FEEDING, DAY) == MOST_DAYS


def test_yard_lasts_as_long_as_its_hungriest_standing_colonies() -> None:
    fat = group(stores=Stores(stores_kg=30.0))
    light = group(stores=Stores(stores_kg=3.0), group="light")
    gone = group(stores=Stores(stores_kg=0.0), group="gone", colonies=0)
    assert yard_days_of_stores((fat, light, gone), FEEDING, DAY) == pytest.approx(10.0)
    assert yard_days_of_stores((gone,), FEEDING, DAY) == MOST_DAYS
