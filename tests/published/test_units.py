"""Unit factors and the truck arithmetic that rests on them, against published values.

Sources: NIST Handbook 44 (Appendix C) and NIST SP 811 for the factors; EPA Emission Factors Hub for the
CO2 of diesel; 49 CFR 395.1 for air miles; densities at 20 C of 2:1 syrup (ICUMSA SPS-4 formula) and at
70 F of HFCS-55 ("Alternative Sweeteners", table of HFCS densities: 11.542 lb/US gal).
"""

from __future__ import annotations

import pytest

from routing.domain import units
from routing.domain.settings import CostSettings
from routing.domain.units import KG_PER_LB, L_PER_US_GAL, M_PER_KM, M_PER_MILE
from tests.support.samples import truck

SYRUP_2_TO_1_KG_PER_L = 1.32675
HFCS_55_KG_PER_L = 11.542 * KG_PER_LB / L_PER_US_GAL


def test_us_gallon_is_231_cubic_inches() -> None:
    assert pytest.approx(231 * 2.54**3 / 1000, rel=1e-15) == L_PER_US_GAL
    assert L_PER_US_GAL == 3.785411784


def test_pound_foot_mile_and_nautical_mile_are_exact() -> None:
    assert KG_PER_LB == 0.45359237
    assert units.M_PER_FOOT == 0.3048
    assert pytest.approx(5280 * units.M_PER_FOOT, rel=1e-15) == M_PER_MILE
    assert units.M_PER_NAUTICAL_MILE == 1852


def test_150_air_miles_are_277_8_km_and_172_6_statute_miles() -> None:
    radius_m = 150 * units.M_PER_NAUTICAL_MILE
    assert radius_m / M_PER_KM == pytest.approx(277.8)
    assert radius_m / M_PER_MILE == pytest.approx(172.6, abs=0.05)


@pytest.mark.parametrize(("f", "c"), [(32, 0), (212, 100), (-40, -40), (50, 10), (68, 20), (140, 60)])
def test_temperature_scales_meet_at_their_fixed_points(f: float, c: float) -> None:
    assert units.celsius(f) == pytest.approx(c, abs=1e-12)
    assert units.fahrenheit(c) == pytest.approx(f, abs=1e-12)


def test_one_mile_a_gallon_is_235_2_litres_per_100_km() -> None:
    assert units.miles_per_us_gal(235.2146 / 100) == pytest.approx(1.0, abs=1e-6)


def test_120_miles_at_9_mpg_burn_13_33_gal_and_emit_136_1_kg() -> None:
    fuel_l = 120 * M_PER_MILE / M_PER_KM * 235.2146 / 100 / 9.0
    assert fuel_l / L_PER_US_GAL == pytest.approx(13.33, abs=0.005)
    assert fuel_l * CostSettings().co2_kg_per_l == pytest.approx(136.1, abs=0.05)


def test_default_co2_factor_is_10_21_kg_a_gallon_of_diesel() -> None:
    assert CostSettings().co2_kg_per_l * L_PER_US_GAL == pytest.approx(10.21, abs=0.002)


@pytest.mark.parametrize(("gal", "lb"), [(1, 11.07), (275, 3045), (330, 3654), (500, 5536), (750, 8304)])
def test_what_a_tank_of_2_to_1_weighs(gal: float, lb: float) -> None:
    assert gal * L_PER_US_GAL * SYRUP_2_TO_1_KG_PER_L / KG_PER_LB == pytest.approx(
        lb, abs=0.5 if gal > 1 else 0.005
    )


@pytest.mark.parametrize(("gal", "lb"), [(500, 5771), (1000, 11542)])
def test_what_a_tank_of_hfcs_55_weighs(gal: float, lb: float) -> None:
    assert gal * L_PER_US_GAL * HFCS_55_KG_PER_L / KG_PER_LB == pytest.approx(lb, abs=0.5)


def test_forty_colonies_at_two_gallons_put_885_8_lb_on_the_truck() -> None:
    assert pytest.approx(885.8, abs=0.1) == 40 * 2 * L_PER_US_GAL * SYRUP_2_TO_1_KG_PER_L / KG_PER_LB


def test_class_5_truck_of_11_200_lb_may_load_749_gal_of_2_to_1_or_719_of_hfcs_55() -> None:
    flatbed = truck(gvwr_kg=19_500 * KG_PER_LB, tare_kg=11_200 * KG_PER_LB)
    assert flatbed.payload_kg / KG_PER_LB == pytest.approx(8300)
    assert int(flatbed.payload_kg / SYRUP_2_TO_1_KG_PER_L / L_PER_US_GAL) == 749
    assert int(flatbed.payload_kg / HFCS_55_KG_PER_L / L_PER_US_GAL) == 719
