"""A whole beekeeping operation, as read and found sound."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any

from routing.domain.clock import DayClock, TimeWindow
from routing.domain.feed_settings import KeepingSettings, UptakeSettings
from routing.domain.fleet import Truck
from routing.domain.places import ColonyGroup, Depot, Position, Yard
from routing.domain.road_settings import RoadSettings
from routing.domain.settings import (
    CostSettings,
    FeedingSettings,
    ShiftSettings,
    TravelSettings,
    WorkSettings,
)
from routing.domain.supplies import Feeder, Syrup


@dataclass(frozen=True)
class Assumption:
    """A number the plan rests on, and where it came from."""

    value: Any
    unit: str
    source: str


@dataclass(frozen=True)
class Operation:
    """Everything known before a plan. Mappings are keyed by id, in the order of the files.

    ``groups`` hold the newest inspection of every group of colonies. ``given`` names the settings the
    user typed (``feeding.conversion``), as against defaults.
    """

    name: str
    timezone: str
    units: str
    currency: str
    yards: Mapping[str, Yard]
    groups: tuple[ColonyGroup, ...]
    feeders: Mapping[str, Feeder]
    syrups: Mapping[str, Syrup]
    trucks: Mapping[str, Truck]
    depots: Mapping[str, Depot]
    cost: CostSettings = field(default_factory=CostSettings)
    shift: ShiftSettings = field(default_factory=ShiftSettings)
    travel: TravelSettings = field(default_factory=TravelSettings)
    feeding: FeedingSettings = field(default_factory=FeedingSettings)
    work: WorkSettings = field(default_factory=WorkSettings)
    roads: RoadSettings = field(default_factory=RoadSettings)
    uptake: UptakeSettings = field(default_factory=UptakeSettings)
    keeping: KeepingSettings = field(default_factory=KeepingSettings)
    given: frozenset[str] = frozenset()

    def clock(self, day: date) -> DayClock:
        """The clock of a feeding date here."""
        return DayClock(day, self.timezone)

    def shift_of(self, truck: Truck) -> TimeWindow:
        """A truck's own shift, else the operation's."""
        return truck.shift or self.shift.window

    def groups_of(self, yard_id: str) -> tuple[ColonyGroup, ...]:
        """The groups of colonies standing in a yard."""
        return tuple(group for group in self.groups if group.yard_id == yard_id)

    def positions(self) -> dict[str, Position]:
        """Every place that a truck may drive to: depots first, then yards; ids as ``places`` of Travel."""
        places = {place_key("depot", d.depot_id): d.position for d in self.depots.values()}
        places |= {place_key("yard", y.yard_id): y.position for y in self.yards.values()}
        return places

    def assumptions(self) -> dict[str, Assumption]:
        """Every setting by its key in operation.toml, with 'given' as the source of what was typed."""
        found = {}
        sections = ["cost", "shift", "travel", "feeding", "uptake", "keeping", "work"]
        if self.travel.method == "roads":
            sections.append("roads")
        for section in sections:
            group = getattr(self, section)
            for f in fields(group):
                key = f"{section}.{f.name}"
                source = "given in operation.toml" if key in self.given else f.metadata["source"]
                value = getattr(group, f.name)
                if isinstance(value, TimeWindow):
                    value = [value.start_s, value.end_s]
                elif isinstance(value, date):
                    value = value.isoformat()
                found[key] = Assumption(value, f.metadata["unit"], source)
        return found | self._typed_in_tables()

    def _typed_in_tables(self) -> dict[str, Assumption]:
        """Numbers of the tables that a plan rests on: set-up of yards, minutes a colony, keeping times."""
        setups = sorted({yard.setup_s for yard in self.yards.values()})
        source = "yards.csv; 600 where empty: estimate"
        found = {"yards.setup_s": Assumption(setups, "s, each that occurs", source)}
        for feeder in self.feeders.values():
            key = f"feeders.{feeder.feeder_id}.service_s"
            found[key] = Assumption(feeder.service_s, "person-s per colony", "feeders.csv: your own timing")
        for syrup in self.syrups.values():
            if syrup.keeps_days is not None:
                key = f"syrups.{syrup.syrup_id}.keeps_days"
                found[key] = Assumption(syrup.keeps_days, "days in the feeder", "given in syrups.csv")
        return found


def place_key(kind: str, place_id: str) -> str:
    """The name of a place in a travel matrix; a yard and a depot may share an id."""
    return f"{kind}:{place_id}"


@dataclass(frozen=True)
class Counts:
    """How much an operation holds."""

    yards: int
    colonies: int
    trucks: int
    depots: int

    @classmethod
    def of(cls, operation: Operation) -> Counts:
        """Count an operation; colonies by the newest inspection of each yard."""
        colonies = sum(group.colonies for group in operation.groups)
        return cls(len(operation.yards), colonies, len(operation.trucks), len(operation.depots))
