"""Build a small invented operation, its travel table and a correct plan, for every test to share."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import NamedTuple

import numpy as np

from routing.domain.clock import TimeWindow
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Depot, Health, Position, Stock, Stores, Yard
from routing.domain.plan import Plan, Unserved, Warning_
from routing.domain.ration import Dose, ReasonCode, YardNeed
from routing.domain.settings import FeedingSettings, TravelSettings, WorkSettings
from routing.domain.supplies import Feeder, FeederPosition, Risk, Syrup, SyrupKind
from routing.domain.travel import Matrix, Provenance, Travel
from tests.support.simulator import End, Feed, Fill, Load, Pour, Rest, Step, build_plan, drive

DAY = date(2025, 9, 16)
INSPECTED = date(2025, 9, 10)
HOUR = 3600
ONE_PAIR = {"second_pair": 0.0, "third_pair": 0.0}
"""A crew is as fast as one worker: what a feeder takes is what a visit takes."""


class Case(NamedTuple):
    """An operation, its travel table and a correct plan of one day."""

    operation: Operation
    travel: Travel
    plan: Plan


def small_operation(units: str = "us") -> Operation:
    """Nine yards within 40 km of a base, two trucks, two depots, two syrups; densities resolved."""
    yards, groups = _yards()
    return Operation(
        name="Tall Grass Apiaries",
        timezone="America/Chicago",
        units=units,
        currency="USD",
        yards={yard.yard_id: yard for yard in yards},
        groups=groups,
        feeders={feeder.feeder_id: feeder for feeder in _feeders()},
        syrups={syrup.syrup_id: syrup for syrup in _syrups()},
        trucks={truck.truck_id: truck for truck in _trucks()},
        depots={depot.depot_id: depot for depot in _depots()},
        travel=TravelSettings(circuity=1.3),
        feeding=FeedingSettings(syrup_id="S67"),
        work=WorkSettings(quarantine_permit=True, **ONE_PAIR),
    )


def _syrups() -> tuple[Syrup, ...]:
    return (
        Syrup("S67", SyrupKind.SUCROSE, 0.6667, price_per_l=0.95, density_kg_per_l=1.32675, lot="A-17"),
        Syrup("HF55", SyrupKind.HFCS55, 0.77, price_per_l=0.80, density_kg_per_l=1.383, lot="H-04"),
    )


def _feeders() -> tuple[Feeder, ...]:
    return (
        Feeder("frame2", FeederPosition.FRAME, 7.5, 45.0, opens_hive=True, frames_displaced=2),
        Feeder("frame1", FeederPosition.FRAME, 5.0, 45.0, opens_hive=True, frames_displaced=1),
        Feeder("pail2", FeederPosition.LID, 7.5, 100.0, swapped=True, spills=Risk.MEDIUM),
        Feeder("top3", FeederPosition.TOP, 10.0, 40.0, opens_hive=True, meets_bees=False, tilt_derate=0.3),
        Feeder("jar", FeederPosition.ENTRANCE, 0.95, 30.0, spills=Risk.HIGH, robbing=Risk.HIGH),
        Feeder("tub", FeederPosition.COMMUNAL, 200.0, 5.0, robbing=Risk.HIGH, drowning=Risk.HIGH),
    )


def _trucks() -> tuple[Truck, ...]:
    big = Truck(
        "BIG", "BASE", "BASE", gvwr_kg=8845.0, tare_kg=5080.0, fuel_empty_l_per_km=0.26,
        fuel_full_l_per_km=0.33, crew=2, length_m=8.5, pump_l_per_s=0.6, pail_slots=24, fixed_cost=40.0,
        tanks=(Tank("B1", 570.0, "S67"), Tank("B2", 570.0, "HF55", baffled=True)),
    )  # fmt: skip
    small = Truck(
        "SMALL", "BASE", "BASE", gvwr_kg=4990.0, tare_kg=3400.0, fuel_empty_l_per_km=0.17,
        fuel_full_l_per_km=0.21, crew=1, length_m=6.2, pump_l_per_s=0.5, pail_slots=12, fixed_cost=25.0,
        idle_l_per_h=1.6, tanks=(Tank("S1", 400.0),),
    )  # fmt: skip
    return big, small


def _depots() -> tuple[Depot, ...]:
    base = Depot(
        "BASE", "Home Shop", Position(44.40, -100.40), (TimeWindow(5 * HOUR, 21 * HOUR),), base=True,
        wash_down=True, setup_s=300,
        stock=(Stock("BASE", "S67", 6000.0, 2.0), Stock("BASE", "HF55", 3000.0, 1.5)),
    )  # fmt: skip
    field = Depot(
        "FIELD", "North Tank", Position(44.58, -100.30), (TimeWindow(7 * HOUR, 18 * HOUR),), setup_s=420,
        stock=(Stock("FIELD", "S67", 1500.0, 1.2),),
    )  # fmt: skip
    return base, field


def _yards() -> tuple[tuple[Yard, ...], tuple[ColonyGroup, ...]]:
    at = Position
    yards = (
        Yard("Y1", "Willow Bend", at(44.63, -100.25), directions="second track past the silo"),
        Yard(
            "Y2",
            "Gate Corner",
            at(44.50, -100.35),
            (TimeWindow(int(8.25 * HOUR), 12 * HOUR),),
            gate="code 0000",
        ),
        Yard("Y3", "Hungry Flat", at(44.55, -100.10), contact="Landowner A, 555-0100"),
        Yard(
            "Y4", "Narrow Draw", at(44.30, -100.60), max_gross_kg=4500.0, max_length_m=7.0, trucks=("SMALL",)
        ),
        Yard("Y5", "Lid Hill", at(44.60, -100.15), last_mile_s=240),
        Yard("Y6", "Lone Slough", at(44.45, -100.20), health=Health.QUARANTINE, level=False),
        Yard("Y7", "Fat Meadow", at(44.36, -100.30)),
        Yard("Y8", "Clover Rise", at(44.42, -100.50), supers_on=True),
        Yard("Y9", "Far Butte", at(44.20, -100.75), hazards="dog"),
    )
    groups = (
        _group("Y1", 30, "frame2", 15.0, group="strong"),
        _group("Y1", 18, "frame1", 14.0, group="weak", strength=4.0),
        _group("Y2", 40, "frame2", 16.0),
        _group("Y3", 30, "top3", 2.5, "HF55"),
        _group("Y4", 30, "frame2", 13.0),
        _group("Y5", 20, "pail2", 18.0),
        _group("Y6", 20, "top3", 12.0, "HF55"),
        _group("Y7", 24, "frame2", 44.0),
        _group("Y8", 24, "frame2", 15.0),
        _group("Y9", 36, "frame2", 11.0),
    )
    return yards, groups


def _group(
    yard_id: str, colonies: int, feeder_id: str, stores_kg: float, syrup_id: str = "S67",
    group: str = "all", strength: float = 8.0, left: float = 0.0,
) -> ColonyGroup:  # fmt: skip
    stores = Stores(stores_kg=stores_kg)
    return ColonyGroup(
        yard_id, group, INSPECTED, colonies, feeder_id, strength, stores, syrup_id, feed_left_l=left
    )


def days_of_stores(stores_kg: float, daily_use_kg: float = 0.3, days: int = 6) -> float:
    """Days of stores on the planned day of a group inspected ``days`` before it, no flow."""
    return max(0.0, stores_kg - daily_use_kg * days) / daily_use_kg


def small_needs(operation: Operation) -> tuple[YardNeed, ...]:
    """What each of the nine yards is to be given on ``DAY``, by hand: their feeders are filled from empty."""
    doses = {
        "Y1": (("strong", 30, 7.5), ("weak", 18, 5.0)),
        "Y2": (("all", 40, 7.5),),
        "Y3": (("all", 30, 10.0),),
        "Y4": (("all", 30, 7.5),),
        "Y5": (("all", 20, 7.5),),
        "Y6": (("all", 20, 7.0),),
        "Y9": (("all", 36, 7.5),),
    }
    refused = {
        "Y7": (ReasonCode.STORES_ENOUGH, "42.2 kg of stores, 40.8 kg wanted", "look again in a month"),
        "Y8": (ReasonCode.SUPERS_ON, "supers are on", "take the supers off first"),
    }
    needs = []
    for yard_id in operation.yards:
        rows = {g.group: g for g in operation.groups_of(yard_id)}
        left = min(days_of_stores(g.stores.stores_kg or 0.0) for g in rows.values())
        code, reason, remedy = refused.get(yard_id, (None, "", ""))
        given = tuple(_dose(operation, rows[g], n, each) for g, n, each in doses.get(yard_id, ()))
        needs.append(
            YardNeed(
                yard_id, sum(g.colonies for g in rows.values()), given, left, left < 5.0, 1,
                "short of the winter target", reason_code=code, reason=reason, remedy=remedy,
            )
        )  # fmt: skip
    return tuple(needs)


def _dose(operation: Operation, group: ColonyGroup, colonies: int, each_l: float) -> Dose:
    feeder = operation.feeders[group.feeder_id]
    return Dose(
        group.group, feeder.feeder_id, group.syrup_id, colonies, each_l, feeder.service_s, feeder.swapped
    )


def straight_travel(operation: Operation) -> Travel:
    """Great-circle distance times circuity at the operation's speed, with each yard's last mile."""
    positions = operation.positions()
    places = tuple(positions)
    n = len(places)
    metres = np.zeros((n, n), dtype=np.int64)
    seconds = np.zeros((n, n), dtype=np.int64)
    for i, a in enumerate(places):
        for j, b in enumerate(places):
            if i == j:
                continue
            metres[i, j] = round(_great_circle_m(positions[a], positions[b]) * operation.travel.circuity)
            drive_s = metres[i, j] / (operation.travel.speed_km_per_h / 3.6)
            seconds[i, j] = math.ceil(drive_s) + _last_mile_s(operation, a) + _last_mile_s(operation, b)
    return Travel(
        places, tuple((p.lon, p.lat) for p in positions.values()), Matrix(metres, seconds),
        Provenance("straight", "straight", estimated=True),
    )  # fmt: skip


def _last_mile_s(operation: Operation, key: str) -> int:
    kind, _, place_id = key.partition(":")
    return operation.yards[place_id].last_mile_s if kind == "yard" else 0


def _great_circle_m(a: Position, b: Position) -> float:
    """Haversine distance in metres on a sphere of 6,371,008.8 m."""
    lat1, lat2 = math.radians(a.lat), math.radians(b.lat)
    half = math.sin((lat2 - lat1) / 2) ** 2
    half += math.cos(lat1) * math.cos(lat2) * math.sin(math.radians(b.lon - a.lon) / 2) ** 2
    return 2 * 6_371_008.8 * math.asin(math.sqrt(half))


def pours_of(need: YardNeed, tanks: dict[str, str]) -> tuple[Pour, ...]:
    """The whole need of a yard as pours, each syrup from the tank named for it."""
    return tuple(
        Pour(
            d.group, d.feeder_id, d.syrup_id, d.colonies, d.volume_l,
            tank_id=None if d.swapped else tanks[d.syrup_id], pails=d.pails,
        )
        for d in need.doses
    )  # fmt: skip


def small_steps(operation: Operation) -> dict[str, list[Step]]:
    """Who goes where in the small plan: a gate waited for, a refill, pails, a break, quarantine last."""
    needs = {need.yard_id: need for need in small_needs(operation)}
    big = {"S67": "B1", "HF55": "B2"}

    def feed(yard_id: str, tanks: dict[str, str]) -> Feed:
        return Feed(yard_id, pours_of(needs[yard_id], tanks))

    first = (Fill("S67", 560.0, "B1"), Fill("HF55", 450.0, "B2"), Fill("S67", 150.0, None, 20))
    return {
        "BIG": [
            Load("BASE", first),
            feed("Y2", big),
            Load("FIELD", (Fill("S67", 65.0, "B1"),)),
            feed("Y1", big),
            feed("Y5", big),
            Rest(),
            feed("Y3", big),
            feed("Y6", big),
            End("BASE"),
        ],
        "SMALL": [Load("BASE", (Fill("S67", 230.0, "S1"),)), feed("Y4", {"S67": "S1"}), End("BASE")],
    }


SMALL_STARTS = {"BIG": 7 * HOUR, "SMALL": 7 * HOUR}


def small_unserved(operation: Operation) -> tuple[Unserved, ...]:
    """The three yards the small plan leaves: enough stores, supers on, and one the day had no room for."""
    needs = {need.yard_id: need for need in small_needs(operation)}
    far = needs["Y9"]
    left = tuple(
        Unserved(n.yard_id, n.reason_code.value, n.reason, n.remedy, n.days_of_stores, 0, 0.0)
        for n in needs.values()
        if n.reason_code is not None
    )
    price = operation.syrups["S67"].price_per_l or 0.0
    shift_full = Unserved(
        "Y9", ReasonCode.SHIFT_FULL.value, "no truck has time left for it in this shift",
        "allow another hour of overtime, or plan it tomorrow", far.days_of_stores, far.colonies, far.volume_l,
        syrup_cost=far.volume_l * price,
    )  # fmt: skip
    return (*left, shift_full)


SMALL_WARNINGS = (
    Warning_("estimated_travel", "Driving times are estimated from straight lines."),
    Warning_("cold_syrup", "2:1 syrup may crystallise when stored below 20 C.", "FIELD"),
)


def small_plan(operation: Operation, travel: Travel) -> Plan:
    """A correct plan of one day: every number in it can be worked out again."""
    routes = tuple(
        drive(operation, travel, DAY, truck_id, SMALL_STARTS[truck_id], steps)
        for truck_id, steps in small_steps(operation).items()
    )
    return build_plan(operation, DAY, routes, small_unserved(operation), SMALL_WARNINGS)


def small_case(units: str = "us") -> Case:
    """The small operation with its travel table and correct plan."""
    operation = small_operation(units)
    travel = straight_travel(operation)
    return Case(operation, travel, small_plan(operation, travel))


def big_plan(n: int) -> Case:
    """A correct plan that serves ``n`` yards with as many trucks as they need, refilling at the base."""
    operation = _big_operation(n)
    travel = straight_travel(operation)
    routes = tuple(
        drive(operation, travel, DAY, truck_id, 6 * HOUR + 1800, _big_steps(operation, truck_id, n))
        for truck_id in operation.trucks
    )
    return Case(operation, travel, build_plan(operation, DAY, routes, (), ()))


YARDS_PER_BIG_ROUTE = 6


def _big_operation(n: int) -> Operation:
    small = small_operation()
    yards = {}
    for i in range(n):
        turn = 2.399963 * i  # the golden angle spreads the yards evenly
        away = 0.18 * math.sqrt((i + 1) / n)
        position = Position(44.40 + away * math.cos(turn), -100.40 + away * math.sin(turn))
        yards[f"N{i + 1:03d}"] = Yard(f"N{i + 1:03d}", f"Section {i + 1}", position)
    groups = tuple(_group(yard_id, 24, "frame2", 15.0) for yard_id in yards)
    big = small.trucks["BIG"]
    stock = (Stock("BASE", "S67", None, 2.0), Stock("BASE", "HF55", None, 1.5))
    base = replace(small.depots["BASE"], stock=stock)
    count = max(1, math.ceil(n / YARDS_PER_BIG_ROUTE))
    trucks = {f"BIG{i + 1}": replace(big, truck_id=f"BIG{i + 1}") for i in range(count)}
    depots = small.depots | {"BASE": base}
    return replace(small, yards=yards, groups=groups, trucks=trucks, depots=depots)


def _big_steps(operation: Operation, truck_id: str, n: int) -> list[Step]:
    first = (list(operation.trucks).index(truck_id)) * YARDS_PER_BIG_ROUTE
    steps: list[Step] = []
    for k, i in enumerate(range(first, min(first + YARDS_PER_BIG_ROUTE, n))):
        if k % 3 == 0:
            steps.append(Load("BASE", (Fill("S67", 540.0, "B1"),)))
        if k == 3:
            steps.append(Rest())
        steps.append(Feed(f"N{i + 1:03d}", (Pour("all", "frame2", "S67", 24, 180.0, "B1"),)))
    return [*steps, End("BASE")]
