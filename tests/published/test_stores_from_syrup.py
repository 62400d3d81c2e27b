"""Winter stores from syrup.

Sources: 90 lb of honey in October, USDA ARS Production Research Report 169 (1977); at most 18.6 % water,
USDA AMS grades of extracted honey (1985); gallons a colony in the Pacific Northwest, OSU PNW 745 (2020);
1 gal of 2:1 stored as about 7 lb, trade practice.
"""

from __future__ import annotations

import pytest

from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import KG_PER_LB, L_PER_US_GAL, celsius
from routing.need.deficit import honey_kg_per_l, syrup_for_deficit_l
from routing.need.syrup import sucrose_kg_per_m3, sugar_kg_per_l

MOISTURE = 0.186
TWO_TO_ONE = Syrup("2:1", SyrupKind.SUCROSE, 2 / 3)
ONE_TO_ONE = Syrup("1:1", SyrupKind.SUCROSE, 1 / 2)
HFCS55 = Syrup("55", SyrupKind.HFCS55, 0.77, temperature_c=celsius(70))
HFCS42 = Syrup("42", SyrupKind.HFCS42, 0.71, temperature_c=celsius(70))


def gallons(deficit_lb: float, syrup: Syrup, conversion: float) -> float:
    litres = syrup_for_deficit_l(deficit_lb * KG_PER_LB, sugar_kg_per_l(syrup), conversion, MOISTURE)
    return litres / L_PER_US_GAL


@pytest.mark.parametrize(("conversion", "gal"), [(1.0, 4.41), (0.9, 4.90), (0.8, 5.51), (0.7, 6.30)])
def test_40_lb_short_of_90_by_conversion(conversion: float, gal: float) -> None:
    assert gallons(90 - 50, TWO_TO_ONE, conversion) == pytest.approx(gal, abs=0.0055)


def test_40_lb_short_takes_4_58_gal_of_hfcs55() -> None:
    assert gallons(40, HFCS55, 0.8) == pytest.approx(4.58, abs=0.0055)


@pytest.mark.parametrize(
    ("syrup", "lb_per_gal"),
    [(TWO_TO_ONE, 9.07), (ONE_TO_ONE, 6.30), (HFCS55, 10.92), (HFCS42, 9.80)],
)
def test_most_honey_a_gallon_can_become(syrup: Syrup, lb_per_gal: float) -> None:
    found = honey_kg_per_l(sugar_kg_per_l(syrup), 1.0, MOISTURE) * L_PER_US_GAL / KG_PER_LB
    assert found == pytest.approx(lb_per_gal, abs=0.0075)


def test_seven_lb_a_gallon_is_a_conversion_of_0_77() -> None:
    most = honey_kg_per_l(sugar_kg_per_l(TWO_TO_ONE), 1.0, MOISTURE) * L_PER_US_GAL / KG_PER_LB
    assert 7 / most == pytest.approx(0.77, abs=0.003)


def test_the_worked_deficit_lies_in_the_autumn_range_of_pnw_745() -> None:
    """Autumn feeding in Oregon: 3 to 6.5 gal a colony, at the measured conversion and at a flat 0.8."""
    assert 3.0 <= gallons(40, TWO_TO_ONE, 0.915) <= 6.5
    assert 3.0 <= gallons(40, TWO_TO_ONE, 0.8) <= 6.5


def test_40_colonies_at_2_gal_load_885_8_lb_with_590_5_lb_of_sugar() -> None:
    load_lb = 40 * 2 * L_PER_US_GAL * sucrose_kg_per_m3(2 / 3) / 1000 / KG_PER_LB
    assert load_lb == pytest.approx(885.8, abs=0.05)
    assert load_lb * 2 / 3 == pytest.approx(590.5, abs=0.05)
