from __future__ import annotations

import pytest

from routing.domain.errors import ValueRefused
from routing.need.mixing import batch_of, mix_by_volume, mix_by_weight


def test_masses_add_up_and_volumes_do_not() -> None:
    batch = mix_by_weight(100.0, 2, 1)
    assert batch.sugar_kg == pytest.approx(2 * batch.water_kg)
    assert batch.sugar_kg + batch.water_kg == pytest.approx(100.0 * batch.density_kg_per_l)
    assert batch.water_l < batch.volume_l


def test_ratio_by_volume_states_a_range_around_the_usual_strength() -> None:
    mixed = mix_by_volume(100.0, 1, 1)
    assert mixed.solids_low < mixed.batch.solids < mixed.solids_high < mix_by_weight(100.0, 1, 1).solids


def test_more_sugar_than_dissolves_is_refused() -> None:
    with pytest.raises(ValueRefused, match="cannot dissolve"):
        batch_of(9.0, 1.0)


@pytest.mark.parametrize(("volume", "sugar", "water"), [(0.0, 2, 1), (10, 0, 1), (10, 2, -1)])
def test_senseless_batches_are_refused(volume: float, sugar: float, water: float) -> None:
    with pytest.raises(ValueRefused):
        mix_by_weight(volume, sugar, water)
