"""Mixing figures that keepers' guides give: ratios by weight and volume, thick syrup, spring dilution.

Sources: the "thick syrup" of the UK National Bee Unit (1 kg to 630 mL); bulk density of granulated
sugar, 0.849 kg/L as commonly tabulated; water added to HFCS-55 for spring feed, a commercial operator's
pages. The volumes are those of the density formula, worked out apart from this code.
"""

from __future__ import annotations

import pytest

from routing.domain.units import KG_PER_LB, L_PER_US_GAL
from routing.need.mixing import (
    batch_of,
    mix_by_volume,
    mix_by_weight,
    solids_by_volume,
)
from routing.need.syrup import water_kg_per_m3

POUND_BATCHES = [
    # lb sugar, lb water, gal water, gal syrup, mass % sugar
    (50, 25, 3.00, 6.77, 66.7),
    (50, 50, 6.00, 9.74, 50.0),
    (25, 12.5, 1.50, 3.39, 66.7),
    (25, 25, 3.00, 4.87, 50.0),
]


@pytest.mark.parametrize(
    ("sugar_kg", "water_kg", "percent", "litres"), [(1, 1, 50, 1.626), (1, 0.5, 66.7, 1.131)]
)
def test_a_kilogram_of_sugar(sugar_kg: float, water_kg: float, percent: float, litres: float) -> None:
    batch = batch_of(sugar_kg, water_kg)
    assert batch.volume_l == pytest.approx(litres, abs=0.0006)
    assert batch.solids * 100 == pytest.approx(percent, abs=0.05)


def test_national_bee_unit_thick_syrup_is_61_4_percent_and_1_258_l() -> None:
    batch = batch_of(1.0, 0.630 * water_kg_per_m3(20.0) / 1000)
    assert batch.solids * 100 == pytest.approx(61.4, abs=0.05)
    assert batch.volume_l == pytest.approx(1.258, abs=0.0006)


@pytest.mark.parametrize(("sugar_lb", "water_lb", "water_gal", "gal", "percent"), POUND_BATCHES)
def test_a_bag_of_sugar(
    sugar_lb: float, water_lb: float, water_gal: float, gal: float, percent: float
) -> None:
    batch = batch_of(sugar_lb * KG_PER_LB, water_lb * KG_PER_LB)
    assert batch.water_l / L_PER_US_GAL == pytest.approx(water_gal, abs=0.005)
    assert batch.volume_l / L_PER_US_GAL == pytest.approx(gal, abs=0.006)
    assert batch.solids * 100 == pytest.approx(percent, abs=0.05)


def test_50_lb_in_3_gal_of_water_weighs_75_lb_and_not_60() -> None:
    batch = batch_of(50 * KG_PER_LB, 3 * L_PER_US_GAL * water_kg_per_m3(20.0) / 1000)
    assert (batch.sugar_kg + batch.water_kg) / KG_PER_LB == pytest.approx(75.0, abs=0.1)


def test_10_kg_in_5_l_makes_11_3_l_and_not_15() -> None:
    assert batch_of(10.0, 5 * 0.9982).volume_l == pytest.approx(11.3, abs=0.05)


def test_a_target_volume_gives_back_the_bag() -> None:
    batch = mix_by_weight(6.7736 * L_PER_US_GAL, 2, 1)
    assert batch.sugar_kg / KG_PER_LB == pytest.approx(50, abs=0.05)
    assert batch.water_l / L_PER_US_GAL == pytest.approx(3.00, abs=0.005)
    assert batch.volume_l == pytest.approx(6.7736 * L_PER_US_GAL)


@pytest.mark.parametrize(("sugar", "water", "low", "high"), [(1, 1, 44.5, 46.9), (2, 1, 61.6, 63.8)])
def test_ratios_by_volume_are_weaker_than_they_sound(
    sugar: float, water: float, low: float, high: float
) -> None:
    mixed = mix_by_volume(10.0, sugar, water)
    assert mixed.solids_low * 100 == pytest.approx(low, abs=0.06)
    assert mixed.solids_high * 100 == pytest.approx(high, abs=0.06)
    assert mixed.solids_low < mixed.batch.solids < mixed.solids_high
    assert mixed.batch.solids == pytest.approx(solids_by_volume(sugar, water))
    assert mixed.sugar_l * 0.849 == pytest.approx(mixed.batch.sugar_kg)
