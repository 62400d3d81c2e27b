"""Which tank is filled and which is poured from, to the millilitre."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.domain.ration import Dose
from routing.planning.plan.tank_levels import TankLevels


def levels(*tanks: tuple[int, int], syrup_id: str = "S67") -> TankLevels:
    """Tanks of one syrup as ``(capacity_ml, level_ml)``."""
    return TankLevels([(f"K{i}", syrup_id, cap, level) for i, (cap, level) in enumerate(tanks)])


def dose(each_l: float, colonies: int) -> Dose:
    return Dose("all", "frame2", "S67", colonies, each_l, 45.0)


def test_the_fullest_tank_is_filled_first_and_the_emptiest_poured_from() -> None:
    tanks = levels((500_000, 0), (500_000, 100_000))
    filled = tanks.fill("S67", 600_000)
    assert [(f.tank_id, f.volume_l) for f in filled] == [("K1", 400.0), ("K0", 200.0)]
    poured = tanks.pour(dose(5.0, 20), 20)
    assert [(p.tank_id, p.volume_l, p.colonies) for p in poured] == [("K0", 100.0, 20)]


def test_a_tank_of_another_syrup_is_left_alone() -> None:
    tanks = TankLevels([("A", "S67", 100_000, 50_000), ("B", "HF55", 100_000, 90_000)])
    assert [p.tank_id for p in tanks.pour(dose(5.0, 4), 4)] == ["A"]
    assert [f.tank_id for f in tanks.fill("HF55", 10_000)] == ["B"]


def test_a_tank_gives_whole_doses_and_keeps_the_rest() -> None:
    tanks = levels((100_000, 12_000), (100_000, 90_000))
    poured = tanks.pour(dose(5.0, 6), 6)
    assert [(p.volume_l, p.colonies) for p in poured] == [(10.0, 2), (20.0, 4)]
    assert tanks.state()["K0"].volume_l == 2.0


def test_a_tank_too_low_for_one_colony_is_passed_over() -> None:
    poured = levels((100_000, 3_000), (100_000, 90_000)).pour(dose(7.0, 1), 1)
    assert [(p.tank_id, p.volume_l, p.colonies) for p in poured] == [("K1", 7.0, 1)]


def test_an_empty_tank_is_stated_to_hold_nothing() -> None:
    tanks = levels((100_000, 20_000))
    tanks.pour(dose(5.0, 4), 4)
    assert tanks.state()["K0"].syrup_id is None
    assert tanks.state()["K0"].volume_l == 0.0


@given(
    st.lists(st.integers(0, 60_000), min_size=1, max_size=4),
    st.integers(250, 12_000),
    st.integers(1, 40),
)
def test_every_colony_is_given_its_dose_from_one_tank(held: list[int], each_ml: int, colonies: int) -> None:
    colonies = min(colonies, sum(ml // each_ml for ml in held))
    if not colonies:
        return
    tanks = levels(*((60_000, ml) for ml in held))
    poured = tanks.pour(dose(each_ml / 1000, colonies), colonies)
    assert sum(p.colonies for p in poured) == colonies
    assert all(p.volume_l == pytest.approx(p.colonies * each_ml / 1000) for p in poured)
    assert sum(tank.level_ml for tank in tanks.tanks) == sum(held) - colonies * each_ml


def test_the_level_stated_is_what_exact_doses_leave() -> None:
    """Two groups of two-gallon doses leave no millilitre between the pours and the level."""
    levels = TankLevels([("A", "S67", 1_000_000, 1_000_000)])
    each_l = 2 * 3.785411784
    poured = [
        pour.volume_l
        for colonies in (24, 8)
        for pour in levels.pour(Dose("g", "frame2", "S67", colonies, each_l, 45.0), colonies)
    ]
    assert levels.state()["A"].volume_l == pytest.approx(1000.0 - sum(poured), abs=2e-6)
