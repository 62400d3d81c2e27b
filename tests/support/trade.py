"""One base, one field tank and a few yards by hand, with needs set by hand: change one thing at a time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from routing.domain.clock import TimeWindow
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Depot, Position, Stock, Stores, Yard
from routing.domain.ration import Dose, YardNeed
from routing.domain.settings import FeedingSettings, ShiftSettings, WorkSettings
from routing.domain.supplies import Feeder, FeederPosition, Syrup, SyrupKind
from routing.need.syrup import resolve

DAY = date(2026, 9, 28)
HOUR = 3600
EACH_L = 7.5


def yard(yard_id: str, km: float = 10.0, **more: Any) -> Yard:
    """A yard some kilometres (in a straight line) north of the base."""
    return Yard(yard_id, f"Yard {yard_id}", Position(44.0 + km / 111.1, -100.0), **more)


def truck(truck_id: str = "T1", **more: Any) -> Truck:
    """A truck with one tank of 1,000 L for any syrup and a rack for ten pails."""
    plain = Truck(
        truck_id, "BASE", "BASE", 8000.0, 4000.0, 0.2, 0.3, 2, (Tank("A", 1000.0),), length_m=8.0,
        pump_l_per_s=0.5, pail_slots=10,
    )  # fmt: skip
    return replace(plain, **more)


def depots(**base: Any) -> dict[str, Depot]:
    """A base with plenty of both syrups, and a field tank of the first 20 km north of it."""
    stock = (Stock("BASE", "S67", None, 2.0), Stock("BASE", "HF55", None, 2.0))
    shop = Depot("BASE", "Shop", Position(44.0, -100.0), base=True, setup_s=300, stock=stock)
    field = Depot(
        "FIELD", "Tank", Position(44.18, -100.0), setup_s=300, stock=(Stock("FIELD", "S67", None, 1.0),)
    )
    return {"BASE": replace(shop, **base), "FIELD": field}


def operation(yards: Iterable[Yard], trucks: Iterable[Truck] = (), **more: Any) -> Operation:
    """An operation with one group of 40 colonies in each yard; densities resolved."""
    places = tuple(yards)
    feeders = (
        Feeder("frame2", FeederPosition.FRAME, 7.57, 45.0),
        Feeder("pail2", FeederPosition.LID, 7.57, 60.0, swapped=True),
    )
    usual: dict[str, Any] = {
        "name": "Short Road Apiaries",
        "timezone": "America/Chicago",
        "units": "metric",
        "currency": "USD",
        "yards": {y.yard_id: y for y in places},
        "groups": tuple(
            ColonyGroup(y.yard_id, "all", DAY, 40, "frame2", 9.0, Stores(stores_kg=10.0), "S67")
            for y in places
        ),
        "feeders": {f.feeder_id: f for f in feeders},
        "syrups": {
            "S67": Syrup("S67", SyrupKind.SUCROSE, 0.667, price_per_l=1.0),
            "HF55": Syrup("HF55", SyrupKind.HFCS55, 0.77, price_per_l=0.8),
        },
        "trucks": {t.truck_id: t for t in tuple(trucks) or (truck(),)},
        "depots": depots(),
        "shift": ShiftSettings(window=TimeWindow(6 * HOUR, 20 * HOUR)),
        "feeding": FeedingSettings(syrup_id="S67", margin=0.0),
        "work": WorkSettings(quarantine_permit=True, second_pair=0.0, third_pair=0.0),
    }
    return resolve(Operation(**{**usual, **more}))


def dose(colonies: int = 40, syrup_id: str = "S67", each_l: float = EACH_L, **more: Any) -> Dose:
    return replace(Dose("all", "frame2", syrup_id, colonies, each_l, 45.0), **more)


def need(yard_id: str, *doses: Dose, **more: Any) -> YardNeed:
    """A need set by hand: forty colonies in the usual feeder unless doses are given."""
    given = doses or (dose(),)
    plain = YardNeed(yard_id, sum(d.colonies for d in given), given, 30.0, False, 0, "short of the target")
    return replace(plain, **more)
