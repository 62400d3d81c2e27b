"""HFCS densities: "Alternative Sweeteners", chapter on high-fructose corn syrup, table 5, p. 400."""

from __future__ import annotations

from itertools import pairwise

import pytest

from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import KG_PER_LB, L_PER_US_GAL, celsius
from routing.need.keeping import may_crystallise
from routing.need.syrup import density_kg_per_l, sucrose_kg_per_m3, sugar_kg_per_l

TABLE_5 = {
    60: (11.258, 11.573),
    70: (11.230, 11.542),
    80: (11.201, 11.511),
    90: (11.172, 11.479),
    100: (11.142, 11.448),
}
HFCS42 = Syrup("42", SyrupKind.HFCS42, 0.71, temperature_c=celsius(70))
HFCS55 = Syrup("55", SyrupKind.HFCS55, 0.77, temperature_c=celsius(70))


@pytest.mark.parametrize(("degrees_f", "row"), TABLE_5.items())
def test_density_is_the_table_s_at_every_row(degrees_f: int, row: tuple[float, float]) -> None:
    for syrup, lb_per_gal in zip((HFCS42, HFCS55), row, strict=True):
        found = density_kg_per_l(syrup, celsius(degrees_f)) * L_PER_US_GAL / KG_PER_LB
        assert found == pytest.approx(lb_per_gal, abs=1e-9)


def test_at_70f_hfcs55_weighs_1_383_and_hfcs42_1_3457_kg_per_l() -> None:
    assert density_kg_per_l(HFCS55, celsius(70)) == pytest.approx(1.3830, abs=0.00005)
    assert density_kg_per_l(HFCS42, celsius(70)) == pytest.approx(1.3457, abs=0.0001)


def test_a_gallon_holds_8_89_and_7_97_lb_of_solids() -> None:
    per_gal = L_PER_US_GAL / KG_PER_LB
    assert sugar_kg_per_l(HFCS55) * per_gal == pytest.approx(8.89, abs=0.005)
    assert sugar_kg_per_l(HFCS42) * per_gal == pytest.approx(7.97, abs=0.005)


def test_the_sucrose_formula_would_be_0_7_percent_heavy_for_hfcs55() -> None:
    assert sucrose_kg_per_m3(0.77, celsius(70)) / 1000 / 1.3830 == pytest.approx(1.007, abs=0.0007)


def test_beyond_the_table_the_nearest_slope_is_kept() -> None:
    rows = [density_kg_per_l(HFCS55, celsius(f)) for f in (40, 50, 60, 70)]
    steps = [warm - cold for cold, warm in pairwise(rows)]
    assert steps[0] == pytest.approx(steps[2], rel=1e-6)


def test_a_measured_lot_of_76_9_percent_hardly_differs() -> None:
    lot = Syrup("lot", SyrupKind.HFCS55, 0.769)
    assert density_kg_per_l(lot, celsius(70)) == pytest.approx(1.3830 - 0.0007, abs=0.0002)


def test_a_tenth_of_water_weighs_what_its_parts_weigh() -> None:
    thinned = Syrup("thin", SyrupKind.HFCS55, 0.7182)
    parts = (1.3830 + 0.1 * 0.998) / 1.1
    assert density_kg_per_l(thinned, celsius(70)) == pytest.approx(parts, rel=0.002)


def test_hfcs42_crystallises_below_68f_and_hfcs55_only_colder() -> None:
    assert may_crystallise(HFCS42, celsius(67))
    assert not may_crystallise(HFCS42, celsius(69))
    assert not may_crystallise(HFCS55, celsius(67))
    assert may_crystallise(HFCS55, celsius(50))
