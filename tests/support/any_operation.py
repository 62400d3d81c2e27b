"""Make up whole operations from a seed: small or large, easy or hopeless, always lawful as read."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from typing import TypeVar

import numpy as np

from routing.domain.clock import TimeWindow
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Depot, Frame, Health, Position, Stock, Stores, Yard
from routing.domain.settings import CostSettings, FeedingSettings, ShiftSettings, TravelSettings, WorkSettings
from routing.domain.supplies import Feeder, FeederPosition, Risk, Syrup, SyrupKind
from routing.domain.travel import Matrix, Travel
from routing.need.syrup import resolve
from routing.travel.straight.straight import straight_travel

HOUR = 3600
T = TypeVar("T")
SYRUPS = (
    Syrup("S67", SyrupKind.SUCROSE, 0.667, price_per_l=0.95),
    Syrup("HF55", SyrupKind.HFCS55, 0.77, price_per_kg=0.6),
    Syrup("S50", SyrupKind.SUCROSE, 0.5, keeps_days=6.0),
)
FEEDERS = (
    Feeder("frame2", FeederPosition.FRAME, 7.57, 45.0, opens_hive=True),
    Feeder("pail2", FeederPosition.LID, 7.57, 100.0, swapped=True, spills=Risk.MEDIUM),
    Feeder("top3", FeederPosition.TOP, 11.355, 40.5, tilt_derate=0.3),
    Feeder("jar", FeederPosition.ENTRANCE, 0.946, 30.0, spills=Risk.HIGH, robbing=Risk.HIGH),
    Feeder("tub", FeederPosition.COMMUNAL, 200.0, 300.0, robbing=Risk.HIGH, drowning=Risk.HIGH),
)
DAYS = (date(2026, 9, 28), date(2026, 11, 1), date(2026, 3, 8), date(2026, 4, 20))
"""An ordinary day, the day the clocks go back, the day they go forward, and a spring day (Chicago)."""


class _Maker:
    """Draws one operation. Odd values turn up everywhere in a hard one, and seldom in an easy one."""

    def __init__(self, seed: int, most_yards: int) -> None:
        self.rng = random.Random(seed)
        self.day = self.rng.choice(DAYS)
        self.most_yards = most_yards
        self.easy = self.rng.random() < 0.6
        self.syrups = SYRUPS[: self.rng.choice((1, 2, 2, 3))]
        # Each operation uses few kinds of feeder, as keepers do; some use pails alone.
        self.feeders = tuple(self.rng.sample(FEEDERS, self.rng.randint(1, 4)))
        self.hungry = self.rng.choice((4.0, 12.0, 25.0))

    def pick(self, usual: T, *odd: T) -> T:
        """The usual value or an odd one."""
        return usual if self.chance(0.85 if self.easy else 0.4) else self.rng.choice(odd)

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def odd(self, share: float) -> bool:
        """A chance of something odd."""
        return self.chance(share / 3 if self.easy else share)

    def window(self, shortest_h: float, longest_h: float) -> TimeWindow:
        start = round(self.rng.uniform(0, 23.9) * HOUR)
        return TimeWindow(start, start + round(self.rng.uniform(shortest_h, longest_h) * HOUR))

    def windows(self, share: float) -> tuple[TimeWindow, ...]:
        if not self.odd(share):
            return ()
        if self.chance(0.5):
            start = self.rng.randint(5, 12) * HOUR
            return (TimeWindow(start, start + self.rng.randint(2, 9) * HOUR),)
        return tuple(self.window(0.5, 6.0) for _ in range(self.rng.randint(1, 3)))

    def position(self) -> Position:
        spread = 0.15 if self.easy else self.rng.choice((0.05, 0.5))
        return Position(44.0 + self.rng.uniform(-spread, spread), -100.0 + self.rng.uniform(-spread, spread))

    def depots(self) -> dict[str, Depot]:
        found = {}
        for i in range(self.rng.randint(1, 3)):
            depot_id = f"D{i}"
            stock = tuple(
                Stock(
                    depot_id,
                    syrup.syrup_id,
                    self.pick(None, 0.0, 150.0, 900.0, 4000.0),
                    self.rng.uniform(0.2, 4.0),
                    self.pick(0, 9 * HOUR + 1),
                )
                for syrup in self.syrups
                if not self.odd(0.3)
            )
            found[depot_id] = Depot(
                depot_id, depot_id, self.position(), self.windows(0.3), i == 0 or self.chance(0.2),
                self.chance(0.4), self.rng.choice((0, 300, 901)), stock,
            )  # fmt: skip
        return found

    def trucks(self, depots: dict[str, Depot]) -> dict[str, Truck]:
        found = {}
        for i in range(self.rng.randint(1, 3)):
            tare = self.rng.uniform(2500.0, 6000.0)
            gvwr = tare + self.rng.uniform(300.0, 5000.0)
            empty = self.rng.uniform(0.1, 0.4)
            tanks = self.tanks(gvwr - tare)
            found[f"T{i}"] = Truck(
                f"T{i}", self.rng.choice(list(depots)), self.rng.choice(list(depots)),
                gvwr, tare, empty, empty * self.rng.uniform(1.0, 1.6), self.rng.randint(1, 3), tanks,
                length_m=self.rng.choice((None, 6.0, 9.0)),
                pump_l_per_s=self.rng.choice((None, 0.2, 1.0)),
                pail_slots=self.rng.choice((0, 8, 24, 60)) if tanks and not self.easy else 60,
                shift=self.shift() if self.odd(0.3) else None,
                fixed_cost=self.rng.choice((0.0, 55.0)),
                idle_l_per_h=self.rng.choice((0.0, 3.18)),
                available=(self.day + timedelta(days=self.rng.randint(0, 1)),) if self.odd(0.1) else (),
            )  # fmt: skip
        return found

    def tanks(self, payload_kg: float) -> tuple[Tank, ...]:
        found, laden_kg = [], 0.0
        for i in range(self.rng.choice((1, 2, 2, 3) if self.easy else (0, 1, 1, 2, 3))):
            capacity = self.rng.uniform(60.0, max(70.0, min(1500.0, payload_kg / 1.4)))
            level = 0.0
            if self.chance(0.25):
                level = min(capacity, self.rng.uniform(0.0, 300.0), max(0.0, (payload_kg - laden_kg) / 1.4))
                level = self.rng.choice((level, round(level)))
                level = min(level, capacity)
            laden_kg += level * 1.4
            kept = self.rng.choice(self.syrups).syrup_id if self.odd(0.5) else None
            found.append(Tank(f"K{i}", capacity, kept, level if laden_kg <= payload_kg else 0.0))
        return tuple(found)

    def yards(self, trucks: dict[str, Truck]) -> dict[str, Yard]:
        found = {}
        for i in range(self.rng.randint(1, self.most_yards)):
            health = Health.CLEAN
            if self.chance(0.25):
                health = self.rng.choice((Health.WATCH, Health.QUARANTINE))
            limit = None
            if self.odd(0.2):
                limit = self.rng.choice(list(trucks.values())).tare_kg + self.rng.uniform(-200, 1500)
            found[f"Y{i}"] = Yard(
                f"Y{i}", f"Yard {i}", self.position(), self.windows(0.3), limit,
                7.0 if self.odd(0.2) else None,
                tuple(self.rng.sample(sorted(trucks), 1)) if self.odd(0.2) else (),
                health, self.rng.choice((0, 600, 600, 1500)), self.rng.choice((0, 0, 240)),
                self.chance(0.8),
                self.day + timedelta(days=self.rng.randint(-2, 2)) if self.odd(0.1) else None,
                self.day + timedelta(days=self.rng.randint(-2, 2)) if self.odd(0.1) else None,
                self.odd(0.1),
                self.rng.uniform(5.0, 25.0) if self.odd(0.2) else None,
            )  # fmt: skip
        return found

    def groups(self, yards: dict[str, Yard]) -> tuple[ColonyGroup, ...]:
        found = []
        for yard_id in yards:
            for g in range(self.pick(1, 0, 2, 2, 3)):
                feeder = self.rng.choice(self.feeders)
                colonies = self.rng.choice((0, 1, 7)) if self.odd(0.2) else self.rng.randint(8, 60)
                if self.chance(0.05):
                    colonies = self.rng.randint(200, 600)
                found.append(
                    ColonyGroup(
                        yard_id, f"g{g}", self.day - timedelta(days=self.rng.randint(0, 12)), colonies,
                        feeder.feeder_id, self.pick(9.0, 0.0, 1.0, 4.0, 14.0), self.stores(),
                        self.rng.choice(self.syrups).syrup_id,
                        self.rng.uniform(0.0, 3.0) if self.odd(0.3) else 0.0,
                        self.rng.uniform(0.0, 0.6) if self.odd(0.2) else 0.0,
                    )
                )  # fmt: skip
        return tuple(found)

    def stores(self) -> Stores:
        way = self.rng.randrange(3)
        kg = self.rng.uniform(0.0, 2 * self.hungry)
        if way == 0:
            return Stores(stores_kg=kg)
        if way == 1:
            return Stores(honey_frames=kg / 2.72, frame=Frame.DEEP)
        return Stores(gross_kg=30.0 + kg, tare_kg=30.0)

    def shift(self) -> TimeWindow:
        return self.rng.choice(
            (
                TimeWindow(6 * HOUR, 20 * HOUR),
                TimeWindow(5 * HOUR, 22 * HOUR),
                TimeWindow(20 * HOUR, 33 * HOUR),
                TimeWindow(0, 24 * HOUR),
                TimeWindow(8 * HOUR, 12 * HOUR),
            )
        )

    def shift_settings(self) -> ShiftSettings:
        return ShiftSettings(
            window=self.pick(TimeWindow(6 * HOUR, 20 * HOUR), self.shift()),
            max_s=self.pick(10, 2, 6, 8, 12) * HOUR,
            overtime_s=self.pick(2 * HOUR, 0, 1800),
            break_s=self.pick(1800, 0, 900, HOUR),
            break_after_s=self.pick(5 * HOUR, 1800, HOUR, 2 * HOUR, 3 * HOUR),
            break_clock=self.pick("work", "driving"),
            max_driving_s=self.pick(11 * HOUR, HOUR, 4 * HOUR),
            leave_by_window=self.chance(0.7),
        )

    def feeding(self) -> FeedingSettings:
        return FeedingSettings(
            syrup_id=self.rng.choice(self.syrups).syrup_id,
            goal=self.rng.choice(("winter", "winter", "survive", "build")),
            margin=self.pick(0.03, 0.0, 0.5),
            communal=self.chance(0.5),
            robbing=self.pick("low", "high"),
            spill_prone=self.pick("late", "never"),
            late_from_s=self.pick(16, 18, 21) * HOUR,
        )

    def operation(self) -> Operation:
        depots = self.depots()
        trucks = self.trucks(depots)
        yards = self.yards(trucks)
        rng = self.rng
        made = Operation(
            name="Made Up Apiaries", timezone="America/Chicago", units=rng.choice(("us", "metric")),
            currency="USD", yards=yards, groups=self.groups(yards),
            feeders={f.feeder_id: f for f in FEEDERS}, syrups={s.syrup_id: s for s in self.syrups},
            trucks=trucks, depots=depots,
            cost=CostSettings(
                labor_per_h=self.pick(22.0, 0.0), drop_value_per_colony=self.pick(40.0, 0.0, 2.0),
                balance_per_h=self.pick(0.0, 15.0), vehicle_per_km=self.pick(0.55, 0.0),
                fuel_per_l=self.pick(1.06, 0.0),
            ),
            shift=self.shift_settings(), travel=TravelSettings(circuity=1.3), feeding=self.feeding(),
            work=WorkSettings(
                pail_load_s=self.pick(10.0, 0.0, 7.3), wash_s=self.pick(1800, 0),
                watch_after_clean=self.chance(0.7), quarantine_permit=not self.odd(0.4),
                pail_kg=self.pick(0.9, 0.0, 1.2345),
            ),
        )  # fmt: skip
        return resolve(made)

    def travel(self, operation: Operation) -> Travel:
        """Straight lines; for some operations also one-way roads, hills and a truck with its own table."""
        straight = straight_travel(operation)
        if not self.chance(0.3):
            return straight
        shape = straight.matrix.drive_s.shape
        noise = np.random.default_rng(self.rng.randrange(10**6))

        def rough() -> Matrix:
            metres = np.rint(straight.matrix.distance_m * noise.uniform(0.9, 1.6, shape)).astype(np.int64)
            seconds = np.rint(straight.matrix.drive_s * noise.uniform(0.9, 1.6, shape)).astype(np.int64)
            np.fill_diagonal(metres, 0)
            np.fill_diagonal(seconds, 0)
            climb_m = (7 * metres + seconds) % 240
            return Matrix(metres, seconds, climb_m)

        own = {t: rough() for t in operation.trucks if self.chance(0.4)}
        return replace(straight, matrix=rough(), by_truck=own)


def any_operation(seed: int, most_yards: int = 20) -> tuple[Operation, Travel, date]:
    """An operation, its travel table and a feeding date, the same for the same seed."""
    maker = _Maker(seed, most_yards)
    operation = maker.operation()
    return operation, maker.travel(operation), maker.day
