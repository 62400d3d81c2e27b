"""Conversion of syrup to stores against Curth, University of Hohenheim (1981).

The table as reprinted by the beekeepers' association of Merkstein: kilograms of winter stores from a kilogram
of sugar fed at each strength. Targets of hives beside the published figures they lie between.
"""

from __future__ import annotations

import pytest

from routing.domain.places import ColonyGroup, Frame, Stores
from routing.domain.settings import FeedingSettings
from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import KG_PER_LB, L_PER_US_GAL
from routing.need.conversion import conversion_of
from routing.need.deficit import stores_kg_per_l
from routing.need.syrup import sugar_kg_per_l
from routing.need.target import winter_target_kg
from tests.support.farm import group

FEEDING = FeedingSettings()
STRENGTHS = {"1:1": 0.50, "3:2": 0.60, "2:1": 2 / 3}


def sugar(solids: float) -> Syrup:
    return Syrup("s", SyrupKind.SUCROSE, solids)


@pytest.mark.parametrize(("mix", "stores_per_kg_sugar"), [("1:1", 0.896), ("3:2", 1.075), ("2:1", 1.124)])
def test_winter_stores_from_a_kilogram_of_sugar(mix: str, stores_per_kg_sugar: float) -> None:
    syrup = sugar(STRENGTHS[mix])
    assert stores_kg_per_l(syrup, FEEDING) / sugar_kg_per_l(syrup) == pytest.approx(
        stores_per_kg_sugar, abs=0.002
    )


@pytest.mark.parametrize(
    ("mix", "lb", "gallons"), [("1:1", 4.60, 8.70), ("3:2", 6.93, 5.78), ("2:1", 8.30, 4.82)]
)
def test_pounds_of_stores_from_a_gallon_and_gallons_for_forty_pounds(
    mix: str, lb: float, gallons: float
) -> None:
    a_gallon = stores_kg_per_l(sugar(STRENGTHS[mix]), FEEDING) * L_PER_US_GAL / KG_PER_LB
    assert a_gallon == pytest.approx(lb, abs=0.02)
    assert 40 / a_gallon == pytest.approx(gallons, abs=0.02)


def test_stronger_syrup_is_never_stored_worse_and_a_typed_share_stands() -> None:
    shares = [conversion_of(sugar(s / 100), FEEDING) for s in range(40, 80)]
    assert shares == sorted(shares)
    assert conversion_of(Syrup("h", SyrupKind.HFCS55, 0.77), FEEDING) == 0.95
    flat = FeedingSettings(conversion=0.8)
    assert conversion_of(sugar(0.5), flat) == 0.8
    assert conversion_of(Syrup("s", SyrupKind.SUCROSE, 0.5, conversion=0.7), flat) == 0.7


def target(**row: object) -> float:
    found: ColonyGroup = group(**row)
    return winter_target_kg(found, FEEDING)


def test_targets_by_hive_lie_in_the_published_ranges() -> None:
    """Nucleus 14 to 50 lb (Ohio, Atlantic Canada; 10 kg Germany), single 16 to 25 kg, double 70 to 90 lb."""
    assert 14 * KG_PER_LB <= target(hive_frames=5) <= 50 * KG_PER_LB
    assert 16.0 <= target(hive_frames=10) <= 25.0
    assert 70 * KG_PER_LB <= target(hive_frames=20) <= 90 * KG_PER_LB + 0.1
    assert target() == FEEDING.target_stores_kg


def test_no_target_is_above_what_the_frames_hold() -> None:
    """Five deep frames of 6 lb hold 30 lb; five medium ones 17.5 lb."""
    assert target(hive_frames=5, target_stores_kg=90 * KG_PER_LB) == pytest.approx(30 * KG_PER_LB, rel=0.01)
    medium = Stores(honey_frames=2, frame=Frame.MEDIUM)
    assert target(hive_frames=5, target_stores_kg=40.0, stores=medium) == pytest.approx(5 * 1.59)
    assert target(hive_frames=20, target_stores_kg=20.0) == 20.0
