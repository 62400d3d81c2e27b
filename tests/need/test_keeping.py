from __future__ import annotations

import pytest

from routing.domain.errors import ValueRefused
from routing.domain.supplies import FeederPosition, Syrup, SyrupKind
from routing.need.keeping import (
    keeping_days,
    keeping_days_in_feeder,
    may_crystallise,
    solubility_pct,
    thickening_factor,
)

TWO = Syrup("2:1", SyrupKind.SUCROSE, 2 / 3)
ONE = Syrup("1:1", SyrupKind.SUCROSE, 0.5)


def test_one_to_one_does_not_last_a_week_at_hive_top_warmth() -> None:
    assert keeping_days_in_feeder(ONE, FeederPosition.TOP, 20.0) < 7


def test_two_to_one_outlasts_a_month_there_and_longer_in_the_cold() -> None:
    assert keeping_days(2 / 3, 30.0) >= 29
    assert keeping_days(2 / 3, 10.0) == pytest.approx(4 * keeping_days(2 / 3, 30.0))


def test_label_decides_how_long_a_syrup_keeps() -> None:
    labelled = Syrup("x", SyrupKind.SUCROSE, 0.5, keeps_days=21.0)
    assert keeping_days_in_feeder(labelled, FeederPosition.TOP, 30.0) == 21.0


def test_feeder_out_of_the_hive_is_as_cool_as_the_air() -> None:
    outside = keeping_days_in_feeder(ONE, FeederPosition.ENTRANCE, 15.0)
    assert outside == keeping_days(0.5, 15.0) > keeping_days_in_feeder(ONE, FeederPosition.FRAME, 15.0)


def test_hot_air_is_not_cooled_by_the_bees() -> None:
    assert keeping_days_in_feeder(ONE, FeederPosition.TOP, 36.0) == keeping_days(0.5, 36.0)


def test_two_to_one_may_crystallise_in_a_cool_store_and_one_to_one_never() -> None:
    assert may_crystallise(TWO, 10.0)
    assert may_crystallise(TWO, 19.0)
    assert not may_crystallise(TWO, 22.0)
    assert not may_crystallise(ONE, 0.0)
    assert may_crystallise(TWO, -5.0)


def test_nothing_is_said_of_crystals_in_syrups_of_unknown_make() -> None:
    assert not may_crystallise(Syrup("x", SyrupKind.OTHER, 0.77, density_kg_per_l=1.38), 5.0)


def test_cold_syrup_is_thicker() -> None:
    assert thickening_factor(2 / 3, 20.0) == pytest.approx(1.0)
    assert thickening_factor(2 / 3, 5.0) > 2.5


def test_solubility_is_refused_outside_its_table() -> None:
    with pytest.raises(ValueRefused, match="solubility"):
        solubility_pct(-1.0)
