from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.files.columns import unit_family as units
from routing.files.columns.all_tables import TABLES
from routing.files.columns.settings import SECTIONS

NAMES = {
    name.header: name.unit
    for table in (*TABLES, *SECTIONS.values())
    for column in table.columns
    for name in column.names
}


@given(header=st.sampled_from(sorted(NAMES)), value=st.floats(0.01, 1e5))
def test_a_value_turned_into_si_and_back_is_the_value(header: str, value: float) -> None:
    unit = NAMES[header]
    assert unit.from_si(unit.to_si(value)) == pytest.approx(value, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize(
    ("names", "us", "metric"),
    [
        (units.mass("x"), 2.2046226218, 1.0),
        (units.volume("x"), 1.0, 3.785411784),
        (units.length("x"), 1.0, 0.3048),
        (units.temperature("x"), 212.0, 100.0),
        (units.temperature("x"), -40.0, -40.0),
        (units.speed("x"), 1.0, 1.609344),
        (units.pumping("x"), 10.0, 37.85411784),
        (units.fuel_use("x"), 10.0, 23.52145833),
        (units.per_volume("x"), 3.785411784, 1.0),
        (units.per_mass("x"), 1.0, 2.2046226218),
        (units.per_distance("x"), 1.609344, 1.0),
        (tuple(reversed(units.DENSITY)), 11.0720, 1.32671),
    ],
)
def test_both_families_say_the_same(names: tuple[units.Name, ...], us: float, metric: float) -> None:
    first, second = (name.unit.to_si(value) for name, value in zip(names, (us, metric), strict=True))
    assert first == pytest.approx(second, rel=1e-5)


def test_the_suffix_names_the_unit() -> None:
    headers = [name.header for name in (*units.mass("flow", "_per_day"), *units.volume("idle", "_per_h"))]
    assert headers == ["flow_lb_per_day", "flow_kg_per_day", "idle_gal_per_h", "idle_l_per_h"]
