"""Invent a feeding operation of a given size from a seed: the same seed, the same operation.

Yards lie in clusters around bases, as bees are kept where forage is. Every tenth yard has gate hours, one in
fifteen stands behind a weak bridge, one in twelve is under watch, every twenty-fifth in quarantine, and a
seventh is fed by pails. Operations of more than 300 yards cover more country from more bases, and every
fiftieth of their yards holds hundreds of colonies, more than any truck brings at once.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil, cos, pi, radians, sin

from routing.domain.clock import TimeWindow
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Depot, Health, Position, Stock, Stores, Yard
from routing.domain.settings import CostSettings, FeedingSettings, ShiftSettings, WorkSettings
from routing.domain.supplies import Feeder, FeederPosition, Risk, Syrup, SyrupKind
from routing.need.syrup import resolve

DAY = date(2026, 9, 28)
HOUR = 3600
CENTRE = Position(47.0, -108.0)
USUAL, OTHER = "2to1", "hfcs55"
YARDS_A_TRUCK = 12
YARDS_A_CLUSTER = 9
REACH_KM = 60.0
ONE_COUNTRY = 300
"""Up to so many yards lie within ``REACH_KM``; more of them cover more country, as densely."""
HOLDING_COLONIES = 240


@dataclass(frozen=True)
class _Feed:
    """A way of feeding: how often, with which feeder and syrup."""

    weight: int
    feeder_id: str
    syrup_id: str


FEEDS = (
    _Feed(8, "frame_2gal", USUAL),
    _Feed(5, "frame_1gal", USUAL),
    _Feed(5, "trough", OTHER),
    _Feed(3, "lid_pail", USUAL),
)


def invent_operation(seed: int, yards: int, days: int = 1) -> Operation:
    """An operation whose yards all want feeding on ``DAY``, with trucks enough for most in so many days."""
    rng = random.Random(seed * 1009 + yards)
    trucks = max(1, ceil(yards / YARDS_A_TRUCK / days))
    reach_km = REACH_KM * max(1.0, yards / ONE_COUNTRY) ** 0.5
    centres = [_scatter(rng, CENTRE, reach_km) for _ in range(max(2, ceil(yards / YARDS_A_CLUSTER)))]
    depots = _depots(rng, centres, yards)
    found = [_yard(rng, i, centres) for i in range(yards)]
    groups = tuple(_holding(i, _group(rng, yard), yards) for i, yard in enumerate(found))
    fleet = [_truck(i, _home(i, depots, yards)) for i in range(trucks)]
    operation = Operation(
        name=f"invented {yards}-{seed}",
        timezone="America/Denver",
        units="us",
        currency="USD",
        yards={yard.yard_id: yard for yard in found},
        groups=groups,
        feeders={feeder.feeder_id: feeder for feeder in _feeders()},
        syrups={syrup.syrup_id: syrup for syrup in _syrups()},
        trucks={truck.truck_id: truck for truck in fleet},
        depots={depot.depot_id: depot for depot in depots},
        cost=CostSettings(),
        shift=ShiftSettings(TimeWindow(5 * HOUR, 20 * HOUR), 10 * HOUR, 2 * HOUR, break_after_s=6 * HOUR),
        feeding=FeedingSettings(syrup_id=USUAL, next_visit_days=7.0),
        work=WorkSettings(quarantine_permit=True),
    )
    return resolve(operation)


def _home(i: int, depots: list[Depot], yards: int) -> Depot:
    """Where a truck is kept."""
    if yards > ONE_COUNTRY:
        bases = [depot for depot in depots if depot.base]
        return bases[i % len(bases)]
    return depots[i % len(depots) if depots[i % len(depots)].base else 0]


def _holding(i: int, group: ColonyGroup, yards: int) -> ColonyGroup:
    """Some yards of a large operation are holding yards, fed by several loads."""
    if yards <= ONE_COUNTRY or i % 50 != 13:
        return group
    return replace(group, colonies=group.colonies + HOLDING_COLONIES)


def _scatter(rng: random.Random, around: Position, reach_km: float) -> Position:
    """A place within reach of another, evenly over the circle."""
    angle, far = 2 * pi * rng.random(), reach_km * rng.random() ** 0.5
    north, east = far * sin(angle) / 111.2, far * cos(angle) / (111.2 * cos(radians(around.lat)))
    return Position(round(around.lat + north, 5), round(around.lon + east, 5))


def _yard(rng: random.Random, i: int, centres: list[Position]) -> Yard:
    windows: tuple[TimeWindow, ...] = ()
    if rng.random() < 0.07:
        windows = (TimeWindow(9 * HOUR, 15 * HOUR),)
    elif rng.random() < 0.03:
        windows = (TimeWindow(int(6.5 * HOUR), 10 * HOUR), TimeWindow(14 * HOUR, 19 * HOUR))
    health = Health.QUARANTINE if i % 25 == 7 else (Health.WATCH if rng.random() < 0.08 else Health.CLEAN)
    return Yard(
        f"Y{i + 1:03d}",
        f"Yard {i + 1}",
        _scatter(rng, rng.choice(centres), 14.0),
        windows=windows,
        max_gross_kg=7000.0 if rng.random() < 0.067 else None,
        health=health,
        setup_s=60 * rng.choice((6, 8, 10)),
        last_mile_s=rng.choice((0, 0, 0, 120, 300)),
        level=rng.random() < 0.85,
    )


def _group(rng: random.Random, yard: Yard) -> ColonyGroup:
    feed = rng.choices(FEEDS, [f.weight for f in FEEDS])[0]
    starving = rng.random() < 0.06
    stores_kg = rng.uniform(2.0, 3.0) if starving else rng.uniform(24.0, 33.0)
    colonies = rng.randint(12, 22) if feed.feeder_id == "lid_pail" else rng.randint(16, 40)
    return ColonyGroup(
        yard.yard_id,
        "all",
        DAY - timedelta(days=rng.randint(3, 6)),
        colonies,
        feed.feeder_id,
        float(rng.randint(7, 13)),
        Stores(stores_kg=round(stores_kg, 1)),
        feed.syrup_id,
    )


def _depots(rng: random.Random, centres: list[Position], yards: int) -> list[Depot]:
    """A base near the middle, a second from 60 yards on, one more for each 300, a bulk tank for each 20."""
    found = [_depot("base", _scatter(rng, CENTRE, 15.0), yards, base=True)]
    if yards >= 60:
        found.append(_depot("base2", _scatter(rng, CENTRE, 60.0), yards, base=True))
    for i in range(yards // ONE_COUNTRY - 1):
        found.append(_depot(f"base{i + 3}", _scatter(rng, rng.choice(centres), 10.0), yards, base=True))
    for i in range(max(1, yards // 20)):
        found.append(_depot(f"tank{i + 1}", _scatter(rng, rng.choice(centres), 10.0), yards, base=False))
    return found


def _depot(name: str, at: Position, yards: int, *, base: bool) -> Depot:
    windows = (TimeWindow(4 * HOUR, 21 * HOUR),) if base else (TimeWindow(6 * HOUR, 19 * HOUR),)
    share = 110.0 if base else 60.0
    stock = (Stock(name, USUAL, yards * share, 2.4), Stock(name, OTHER, yards * share * 0.5, 2.2))
    return Depot(name, name, at, windows, base=base, wash_down=base, setup_s=540, stock=stock)


def _truck(i: int, home: Depot) -> Truck:
    """Heavy and light in turn."""
    heavy = i % 2 == 0
    tanks = (
        (Tank("front", 1890.0, USUAL), Tank("rear", 760.0, OTHER))
        if heavy
        else (Tank("one", 700.0), Tank("two", 340.0))
    )
    return Truck(
        f"T{i + 1:02d}",
        home.depot_id,
        home.depot_id,
        gvwr_kg=8845.0 if heavy else 6350.0,
        tare_kg=5170.0 if heavy else 3900.0,
        fuel_empty_l_per_km=0.261 if heavy else 0.204,
        fuel_full_l_per_km=0.327 if heavy else 0.256,
        crew=2,
        tanks=tanks,
        length_m=8.2 if heavy else 6.4,
        pump_l_per_s=0.95 if heavy else 0.76,
        pail_slots=36 if heavy else 44,
        fixed_cost=30.0,
    )


def _feeders() -> tuple[Feeder, ...]:
    return (
        Feeder("frame_1gal", FeederPosition.FRAME, 3.785, 24.0, opens_hive=True, frames_displaced=1),
        Feeder("frame_2gal", FeederPosition.FRAME, 7.57, 27.0, opens_hive=True, frames_displaced=2),
        Feeder("trough", FeederPosition.TOP, 7.57, 21.0, meets_bees=False, tilt_derate=0.25),
        Feeder("lid_pail", FeederPosition.LID, 7.57, 36.0, swapped=True, spills=Risk.MEDIUM),
    )


def _syrups() -> tuple[Syrup, ...]:
    return (
        Syrup(USUAL, SyrupKind.SUCROSE, 0.667, price_per_l=1.14),
        Syrup(OTHER, SyrupKind.HFCS55, 0.77, price_per_l=1.23),
    )
