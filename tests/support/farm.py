"""One yard with one group of colonies, to change one thing at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Stores, Yard
from routing.domain.ration import YardNeed
from routing.domain.settings import FeedingSettings, WorkSettings
from routing.domain.supplies import Feeder, FeederPosition, Risk, Syrup, SyrupKind
from routing.domain.units import KG_PER_LB, L_PER_US_GAL, celsius
from routing.need.ration import need_of_day
from tests.support import samples

DAY = date(2025, 9, 16)
TWO_GAL_L = 2 * L_PER_US_GAL

FEEDERS = {
    "frame2": Feeder("frame2", FeederPosition.FRAME, TWO_GAL_L, 48.0, opens_hive=True, drowning=Risk.HIGH),
    "pail2": Feeder("pail2", FeederPosition.LID, TWO_GAL_L, 100.0, swapped=True),
    "trough": Feeder("trough", FeederPosition.TOP, 11.36, 40.0, tilt_derate=0.3, level_visible=True),
    "tray": Feeder("tray", FeederPosition.TOP, 4.0, 40.0, spills=Risk.HIGH),
    "jar": Feeder("jar", FeederPosition.ENTRANCE, 0.946, 30.0, robbing=Risk.HIGH, level_visible=True),
    "tub": Feeder("tub", FeederPosition.COMMUNAL, 110.0, 600.0, robbing=Risk.HIGH, drowning=Risk.HIGH),
    "thimble": Feeder("thimble", FeederPosition.LID, 0.1, 30.0),
}
SYRUPS = {
    "2:1": Syrup("2:1", SyrupKind.SUCROSE, 2 / 3, price_per_kg=0.7),
    "1:1": Syrup("1:1", SyrupKind.SUCROSE, 0.5, price_per_l=0.5),
    "hfcs55": Syrup("hfcs55", SyrupKind.HFCS55, 0.77, temperature_c=celsius(70)),
}


def group(stores_lb: float = 50.0, **more: Any) -> ColonyGroup:
    """24 strong colonies, judged on the day, in two-gallon frame feeders of 2:1."""
    usual: dict[str, Any] = {
        "yard_id": "Y1",
        "group": "all",
        "date": DAY,
        "colonies": 24,
        "feeder_id": "frame2",
        "strength_frames": 9.0,
        "stores": Stores(stores_kg=stores_lb * KG_PER_LB),
        "syrup_id": "2:1",
    }
    return ColonyGroup(**{**usual, **more})


def farm(
    *groups: ColonyGroup, yard: Yard | None = None, work: WorkSettings | None = None,
    units: str = "us", **feeding: Any,
) -> Operation:  # fmt: skip
    """An operation of one yard with the given groups and feeding settings."""
    settings: dict[str, Any] = {
        "syrup_id": "2:1", "target_stores_kg": 90 * KG_PER_LB, "daily_use_kg": 0.3, "conversion": 0.8,
        **feeding,
    }  # fmt: skip
    base = samples.operation(
        yards=(yard or samples.yard("Y1"),),
        groups=groups,
        feeding=FeedingSettings(**settings),
        work=work or WorkSettings(),
    )
    return replace(base, feeders=FEEDERS, syrups=SYRUPS, units=units)


def need(*groups: ColonyGroup, day: date = DAY, **more: Any) -> YardNeed:
    """What the one yard of ``farm`` is to be given."""
    return need_of_day(farm(*groups, **more), day)[0]
