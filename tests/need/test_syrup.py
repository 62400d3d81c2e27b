from __future__ import annotations

from dataclasses import replace

import pytest

from routing.domain.errors import InputError, ValueRefused
from routing.domain.supplies import Syrup, SyrupKind
from routing.need.syrup import (
    density_is_estimated,
    density_kg_per_l,
    resolve,
    sucrose_kg_per_m3,
    sugar_kg_per_l,
    water_kg_per_m3,
)
from tests.support.farm import farm, group


def test_density_by_label_is_the_label_s() -> None:
    for kind in SyrupKind:
        assert density_kg_per_l(Syrup("x", kind, 0.7, density_kg_per_l=1.31), 30.0) == 1.31


@pytest.mark.parametrize(("w", "temperature_c"), [(0.81, 20), (-0.01, 20), (0.5, -1), (0.5, 61)])
def test_density_formula_is_refused_outside_its_range(w: float, temperature_c: float) -> None:
    with pytest.raises(ValueRefused, match="density formula is valid"):
        sucrose_kg_per_m3(w, temperature_c)


def test_range_ends_are_inside() -> None:
    assert sucrose_kg_per_m3(0.0, 0.0) == water_kg_per_m3(0.0) == pytest.approx(999.84, abs=0.01)
    assert sucrose_kg_per_m3(0.8, 60.0) > 1380


def test_hfcs_is_refused_where_no_formula_reaches() -> None:
    with pytest.raises(ValueRefused):
        density_kg_per_l(Syrup("x", SyrupKind.HFCS55, 0.77), 65.0)


def test_invert_without_a_label_is_an_estimate_and_says_so() -> None:
    invert = Syrup("inv", SyrupKind.INVERT, 0.77)
    hfcs, sucrose = (density_kg_per_l(replace(invert, kind=k)) for k in (SyrupKind.HFCS55, SyrupKind.SUCROSE))
    assert hfcs < density_kg_per_l(invert) < sucrose
    assert density_is_estimated(invert)
    assert not density_is_estimated(replace(invert, density_kg_per_l=1.38))
    assert not density_is_estimated(Syrup("s", SyrupKind.SUCROSE, 0.6))


def test_resolve_fills_density_and_price_and_a_second_time_changes_nothing() -> None:
    found = resolve(farm(group()))
    two = found.syrups["2:1"]
    assert two.density_kg_per_l == pytest.approx(1.32675, abs=1e-5)
    assert two.price_per_l == pytest.approx(0.7 * 1.32675, abs=1e-5)
    assert found.syrups["1:1"].price_per_l == 0.5
    assert found.syrups["hfcs55"].price_per_l is None
    assert resolve(found) is found


def test_estimate_is_still_known_as_one_after_resolving() -> None:
    operation = replace(farm(group()), syrups={"inv": Syrup("inv", SyrupKind.INVERT, 0.77)})
    assert density_is_estimated(resolve(operation).syrups["inv"])


def test_every_syrup_without_a_density_is_named_at_once() -> None:
    syrups = {
        "a": Syrup("a", SyrupKind.OTHER, 0.6),
        "b": Syrup("b", SyrupKind.SUCROSE, 0.85),
        "c": Syrup("c", SyrupKind.SUCROSE, 0.6, temperature_c=75.0),
    }
    with pytest.raises(InputError) as caught:
        resolve(replace(farm(group()), syrups=syrups))
    assert [problem.value for problem in caught.value.problems] == ["a", "b", "c"]
    assert all("label" in problem.remedy for problem in caught.value.problems)


def test_syrup_is_weighed_at_its_own_temperature() -> None:
    cold, warm = (Syrup("s", SyrupKind.SUCROSE, 2 / 3, temperature_c=t) for t in (5.0, 35.0))
    assert sugar_kg_per_l(cold) > sugar_kg_per_l(warm)
