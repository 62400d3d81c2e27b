from __future__ import annotations

import pytest

from routing.domain.places import Frame, Stores
from routing.domain.settings import FeedingSettings
from routing.need.stores import MOST_DAYS, OnHand, days_of_stores, judged_kg, net_use_kg_per_day
from tests.support.farm import group

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


def test_nobody_counts_on_a_flow_for_tomorrow() -> None:
    half = group(flow_kg_per_day=0.1)
    assert net_use_kg_per_day(half, FEEDING) == pytest.approx(0.2)
    assert days_of_stores(OnHand(4.0), half, FEEDING) == pytest.approx(4.0 / 0.3)
    light = group(flow_kg_per_day=0.6 * 0.45359237)
    assert days_of_stores(OnHand(2.3 * 0.45359237), light, FEEDING) == pytest.approx(3.5, abs=0.1)


def test_a_row_s_own_use_stands_before_the_operation_s() -> None:
    nucleus = group(daily_use_kg=0.1)
    assert days_of_stores(OnHand(6.0), nucleus, FEEDING) == pytest.approx(60.0)
    assert days_of_stores(OnHand(6.0), group(), FEEDING) == pytest.approx(20.0)
    assert days_of_stores(OnHand(6.0), group(daily_use_kg=0.0), FEEDING) == MOST_DAYS


def test_what_is_taken_from_the_feeder_counts_as_food() -> None:
    assert days_of_stores(OnHand(0.6, 5.0, 4.5, coming_kg=3.0), group(), FEEDING) == pytest.approx(12.0)
