"""Settings: sound defaults, and values that nobody can mean."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields

import pytest

from routing.domain.errors import FeedroundError, ValueRefused
from routing.domain.places import Frame
from routing.domain.settings import (
    CostSettings,
    FeedingSettings,
    ShiftSettings,
    TravelSettings,
    WorkSettings,
)
from routing.domain.units import KG_PER_LB

SETTINGS = (CostSettings, ShiftSettings, TravelSettings, FeedingSettings, WorkSettings)


@pytest.mark.parametrize("group", SETTINGS)
def test_every_default_names_its_unit_and_where_it_comes_from(group: type) -> None:
    group()
    for field in fields(group):
        assert field.metadata["unit"], field.name
        assert field.metadata["source"], field.name


def test_winter_target_is_90_lb_a_colony() -> None:
    assert FeedingSettings().target_stores_kg == pytest.approx(90 * KG_PER_LB, abs=0.05)


def test_deep_frame_holds_6_lb_of_honey_and_a_medium_3_and_a_half() -> None:
    feeding = FeedingSettings()
    assert feeding.frame_kg(Frame.DEEP) == pytest.approx(6 * KG_PER_LB, abs=0.005)
    assert feeding.frame_kg(Frame.MEDIUM) == pytest.approx(3.5 * KG_PER_LB, abs=0.005)


def test_driving_and_break_follow_the_federal_rule_by_default() -> None:
    shift = ShiftSettings()
    assert shift.max_driving_s == 11 * 3600
    assert shift.break_s == 30 * 60
    assert shift.break_after_s <= 8 * 3600


@pytest.mark.parametrize(
    ("group", "values"),
    [
        (CostSettings, {"labor_per_h": -1.0}),
        (CostSettings, {"drop_value_per_colony": -0.01}),
        (ShiftSettings, {"max_s": 0}),
        (ShiftSettings, {"overtime_s": -1}),
        (ShiftSettings, {"break_s": -1}),
        (ShiftSettings, {"break_after_s": 0}),
        (ShiftSettings, {"max_driving_s": 0}),
        (ShiftSettings, {"break_clock": "lunch"}),
        (TravelSettings, {"circuity": 0.9}),
        (TravelSettings, {"speed_km_per_h": 0.0}),
        (TravelSettings, {"speed_km_per_h": 200.0}),
        (FeedingSettings, {"goal": "honey"}),
        (FeedingSettings, {"conversion": 80.0}),
        (FeedingSettings, {"honey_moisture": 18.6}),
        (FeedingSettings, {"target_stores_kg": 3000 * KG_PER_LB}),
        (FeedingSettings, {"margin": -0.1}),
        (FeedingSettings, {"robbing": "some"}),
        (FeedingSettings, {"spill_prone": "early"}),
    ],
    ids=lambda v: v.__name__ if isinstance(v, type) else next(iter(v)),
)
def test_value_that_nobody_can_mean_is_refused_in_words(group: type, values: dict[str, object]) -> None:
    with pytest.raises(ValueRefused) as refusal:
        group(**values)
    assert len(str(refusal.value).split()) > 2
    assert isinstance(refusal.value, FeedroundError)


def test_settings_do_not_change_under_a_plan() -> None:
    settings = CostSettings()
    with pytest.raises(FrozenInstanceError):
        settings.labor_per_h = 1.0  # type: ignore[misc]
