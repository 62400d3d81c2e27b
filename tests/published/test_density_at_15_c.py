"""Density of sucrose solutions at 15 and 20 degrees C against a university's laboratory tables.

Nicolaus Copernicus University in Torun, second physics laboratory, tables: density of aqueous sucrose by
concentration, kg/m3.
"""

from __future__ import annotations

import pytest

from routing.need.syrup import sucrose_kg_per_m3

ROWS = [
    # mass %, 15 C, 20 C
    (1, 1003.01, 1002.09),
    (10, 1039.25, 1038.13),
    (20, 1082.33, 1080.94),
    (30, 1128.63, 1126.98),
    (35, 1153.06, 1151.27),
    (37, 1163.08, 1161.24),
]


@pytest.mark.parametrize(("percent", "at_15c", "at_20c"), ROWS)
def test_density_at_two_temperatures(percent: float, at_15c: float, at_20c: float) -> None:
    assert sucrose_kg_per_m3(percent / 100, 15.0) == pytest.approx(at_15c, abs=0.15)
    assert sucrose_kg_per_m3(percent / 100, 20.0) == pytest.approx(at_20c, abs=0.15)


@pytest.mark.parametrize(("percent", "at_15c", "at_20c"), ROWS)
def test_five_degrees_lighten_a_syrup_by_as_much_as_measured(
    percent: float, at_15c: float, at_20c: float
) -> None:
    change = sucrose_kg_per_m3(percent / 100, 15.0) - sucrose_kg_per_m3(percent / 100, 20.0)
    assert change == pytest.approx(at_15c - at_20c, abs=0.06)
