"""ICUMSA SPS-4 density polynomial, as quoted in a 2005 paper on continuous cooling crystallizers.

The figures are the formula's own, worked out apart from this code; beside them US trade units.
"""

from __future__ import annotations

import pytest

from routing.domain.units import KG_PER_LB, L_PER_US_GAL
from routing.need.syrup import sucrose_kg_per_m3

AT_20C = [
    # mass %, kg/m3, lb per US gal, lb of sugar per US gal
    (0, 998.20, 8.330, 0.0),
    (10, 1038.12, 8.663, 0.866),
    (20, 1080.98, 9.021, 1.804),
    (30, 1127.03, 9.406, 2.822),
    (40, 1176.52, 9.819, 3.927),
    (50, 1229.65, 10.262, 5.131),
    (60, 1286.61, 10.737, 6.442),
    (65, 1316.56, 10.987, 7.142),
    (66, 1322.66, 11.038, 7.285),
    (200 / 3, 1326.75, 11.072, 7.382),
    (68, 1334.99, 11.141, 7.576),
    (70, 1347.48, 11.245, 7.872),
]
TWO_TO_ONE_BY_TEMPERATURE = {0: 1336.35, 10: 1331.72, 20: 1326.75, 30: 1321.52, 35: 1318.82}


@pytest.mark.parametrize(("percent", "kg_per_m3", "lb_per_gal", "sugar_lb_per_gal"), AT_20C)
def test_density_and_sugar_at_20c(
    percent: float, kg_per_m3: float, lb_per_gal: float, sugar_lb_per_gal: float
) -> None:
    rho = sucrose_kg_per_m3(percent / 100, 20.0)
    in_trade_units = rho / 1000 * L_PER_US_GAL / KG_PER_LB
    assert rho == pytest.approx(kg_per_m3, abs=0.006)
    assert in_trade_units == pytest.approx(lb_per_gal, abs=0.0006)
    assert in_trade_units * percent / 100 == pytest.approx(sugar_lb_per_gal, abs=0.0006)


@pytest.mark.parametrize(("temperature_c", "kg_per_m3"), TWO_TO_ONE_BY_TEMPERATURE.items())
def test_two_to_one_by_temperature(temperature_c: float, kg_per_m3: float) -> None:
    assert sucrose_kg_per_m3(2 / 3, temperature_c) == pytest.approx(kg_per_m3, abs=0.006)


def test_two_to_one_grows_by_1_33_percent_from_0_to_35c() -> None:
    growth = sucrose_kg_per_m3(2 / 3, 0) / sucrose_kg_per_m3(2 / 3, 35) - 1
    assert growth == pytest.approx(0.0133, abs=0.00005)


def test_a_full_500_gal_of_two_to_one_weighs_5576_lb_cold_and_5503_lb_hot() -> None:
    litres = 500 * L_PER_US_GAL
    cold, hot = (sucrose_kg_per_m3(2 / 3, t) / 1000 * litres / KG_PER_LB for t in (0, 35))
    assert (round(cold), round(hot)) == (5576, 5503)


def test_at_65_brix_it_is_the_wide_formula_and_not_a_cubic_for_worts() -> None:
    """The cubics that hold to 40 Brix give 1.3176 or 1.3236 apparent specific gravity here."""
    buoyed = [sucrose_kg_per_m3(w, 20) - 1.2 for w in (0.65, 0.0)]
    assert buoyed[0] / buoyed[1] == pytest.approx(1.31931, abs=0.0003)
