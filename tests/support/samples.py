"""Small invented yards, depots, trucks and operations for tests to start from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Depot, Position, Yard
from routing.domain.supplies import Feeder, FeederPosition, Syrup, SyrupKind

BASE = Position(46.80, -100.80)


def yard(yard_id: str = "Y1", lat: float = 46.9, lon: float = -100.9, **more: Any) -> Yard:
    return Yard(yard_id, f"Yard {yard_id}", Position(lat, lon), **more)


def depot(depot_id: str = "D1", lat: float = BASE.lat, lon: float = BASE.lon, **more: Any) -> Depot:
    return Depot(depot_id, f"Depot {depot_id}", Position(lat, lon), **{"base": True, **more})


def truck(truck_id: str = "T1", **more: Any) -> Truck:
    """A five-ton flatbed with one tank of 1,900 L (500 gal)."""
    usual: dict[str, Any] = {
        "start_depot": "D1",
        "end_depot": "D1",
        "gvwr_kg": 8845.0,
        "tare_kg": 5080.0,
        "fuel_empty_l_per_km": 0.235,
        "fuel_full_l_per_km": 0.294,
        "crew": 2,
        "tanks": (Tank("A", 1900.0),),
        "pump_l_per_s": 0.63,
    }
    return Truck(truck_id, **{**usual, **more})


def operation(
    yards: Iterable[Yard] = (),
    depots: Iterable[Depot] = (),
    trucks: Iterable[Truck] = (),
    groups: Iterable[ColonyGroup] = (),
    **more: Any,
) -> Operation:
    """An operation in North Dakota with one syrup and one feeder, and one of each thing not given."""
    return Operation(
        name="Test Apiaries",
        units="us",
        currency="USD",
        yards={y.yard_id: y for y in tuple(yards) or (yard(),)},
        groups=tuple(groups),
        feeders={"frame2": Feeder("frame2", FeederPosition.FRAME, 7.57, 50.0, opens_hive=True)},
        syrups={"two": Syrup("two", SyrupKind.SUCROSE, 2 / 3)},
        trucks={t.truck_id: t for t in tuple(trucks) or (truck(),)},
        depots={d.depot_id: d for d in tuple(depots) or (depot(),)},
        **{"timezone": "America/Chicago", **more},
    )
