"""CRC Handbook, "Concentrative properties of aqueous solutions": sucrose; and Herzfeld's solubility."""

from __future__ import annotations

import pytest

from routing.need.keeping import HERZFELD, NEWER, solubility_pct, supersaturation_points, viscosity_mpa_s
from routing.need.syrup import sucrose_kg_per_m3

DENSITY_20C = {
    0: 998.2, 10: 1038.1, 20: 1081.0, 30: 1127.0, 40: 1176.5, 50: 1229.5, 60: 1286.4, 66: 1322.4,
    68: 1334.8, 70: 1347.2,
}  # fmt: skip


@pytest.mark.parametrize(("percent", "kg_per_m3"), DENSITY_20C.items())
def test_density_agrees_with_the_handbook_within_0_3_kg_per_m3(percent: int, kg_per_m3: float) -> None:
    assert sucrose_kg_per_m3(percent / 100, 20.0) == pytest.approx(kg_per_m3, abs=0.3)


@pytest.mark.parametrize(("percent", "mpa_s"), [(40, 6.2), (50, 15.5), (66, 183.0), (70, 483.0)])
def test_viscosity_at_20c_is_the_handbook_s(percent: int, mpa_s: float) -> None:
    assert viscosity_mpa_s(percent / 100, 20.0) == pytest.approx(mpa_s, rel=1e-6)


def test_thick_syrup_is_three_times_as_thick_as_60_percent() -> None:
    assert viscosity_mpa_s(0.66, 20) / viscosity_mpa_s(0.60, 20) == pytest.approx(3.1, abs=0.1)


def test_at_freezing_60_percent_is_four_times_as_thick_as_at_20c() -> None:
    assert viscosity_mpa_s(0.60, 0) / viscosity_mpa_s(0.60, 20) == pytest.approx(238 / 56.5, rel=1e-6)


@pytest.mark.parametrize(
    ("temperature_c", "percent"),
    [(0, 64.18), (10, 65.58), (20, 67.09), (30, 68.70), (40, 70.42), (60, 74.18), (80, 78.36)],
)
def test_solubility_is_herzfeld_s(temperature_c: float, percent: float) -> None:
    assert solubility_pct(temperature_c, HERZFELD) == pytest.approx(percent)


def test_two_to_one_at_10c_is_1_1_points_above_saturation() -> None:
    assert supersaturation_points(2 / 3, 10.0) == pytest.approx(1.1, abs=0.05)


def test_newer_table_interpolates_to_65_5_percent_at_10c() -> None:
    assert solubility_pct(10.0, NEWER) == pytest.approx(65.5, abs=0.1)


def test_two_to_one_saturates_between_16_and_20c() -> None:
    assert supersaturation_points(2 / 3, 16.0, HERZFELD) > 0 > supersaturation_points(2 / 3, 18.0, HERZFELD)
    assert supersaturation_points(2 / 3, 19.0, NEWER) > 0 > supersaturation_points(2 / 3, 20.0, NEWER)
