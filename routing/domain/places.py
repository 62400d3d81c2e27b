"""Where the work is: yards, the colonies standing in them, and depots."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from routing.domain.clock import TimeWindow
from routing.domain.errors import require
from routing.domain.units import DAY_S


class Health(StrEnum):
    """Disease standing of a yard, in the order a truck may visit them."""

    CLEAN = "clean"
    WATCH = "watch"
    QUARANTINE = "quarantine"

    @property
    def rank(self) -> int:
        """0 clean, 1 watch, 2 quarantine: a truck never goes down in rank without a wash-down."""
        return {"clean": 0, "watch": 1, "quarantine": 2}[self.value]


class Foulbrood(StrEnum):
    """Whether foulbrood (American or European) was found or is suspected in a yard."""

    NO = "no"
    SUSPECTED = "suspected"
    CONFIRMED = "confirmed"


class Priority(StrEnum):
    """How much a keeper wants a yard fed; ``must`` binds like a starving yard."""

    MUST = "must"
    HIGH = "high"
    NORMAL = "normal"
    LOW = "low"


class Frame(StrEnum):
    """Size of comb on which honey was counted."""

    DEEP = "deep"
    MEDIUM = "medium"


@dataclass(frozen=True)
class Position:
    """WGS84 degrees."""

    lat: float
    lon: float

    def __post_init__(self) -> None:
        require(-90 <= self.lat <= 90, f"latitude is -90 to 90 degrees, not {self.lat}")
        require(-180 <= self.lon <= 180, f"longitude is -180 to 180 degrees, not {self.lon}")


@dataclass(frozen=True)
class Yard:
    """An apiary: where it is, when and by which trucks it can be reached, and its standing.

    ``called_in``: the words of a call for the feeding date by the day log; such a yard must be fed.
    ``permit``: who allowed entry to a yard with foulbrood, and when. Such a yard is a quarantined one.
    """

    yard_id: str
    name: str
    position: Position
    windows: tuple[TimeWindow, ...] = ()
    max_gross_kg: float | None = None
    max_length_m: float | None = None
    trucks: tuple[str, ...] = ()
    health: Health = Health.CLEAN
    setup_s: int = 600
    last_mile_s: int = 0
    level: bool = True
    from_date: date | None = None
    until_date: date | None = None
    supers_on: bool = False
    temperature_c: float | None = None
    low_c: float | None = None
    foulbrood: Foulbrood = Foulbrood.NO
    permit: str = ""
    priority: Priority = Priority.NORMAL
    registration_id: str = ""
    gate: str = ""
    directions: str = ""
    contact: str = ""
    hazards: str = ""
    note: str = ""
    called_in: str = ""

    def __post_init__(self) -> None:
        require(bool(self.yard_id), "a yard needs an id")
        require(
            self.foulbrood is Foulbrood.NO or self.health is Health.QUARANTINE,
            f"a yard with foulbrood {self.foulbrood} is under quarantine, not {self.health}",
        )
        require(self.setup_s >= 0, f"set-up time is not negative: {self.setup_s}")
        require(self.last_mile_s >= 0, f"last-mile time is not negative: {self.last_mile_s}")


@dataclass(frozen=True)
class Stores:
    """One judgement of the stores of a colony: exactly one of the three ways.

    ``stores_kg`` of honey; or ``honey_frames`` counted on ``frame``; or ``gross_kg`` on the scale
    less ``tare_kg`` of hive, bees and brood.
    """

    stores_kg: float | None = None
    honey_frames: float | None = None
    frame: Frame | None = None
    gross_kg: float | None = None
    tare_kg: float | None = None

    def __post_init__(self) -> None:
        ways = (self.stores_kg, self.honey_frames, self.gross_kg)
        require(sum(way is not None for way in ways) == 1, "stores are judged in exactly one way")
        require(self.honey_frames is None or self.frame is not None, "frames of honey need a frame size")
        require(self.gross_kg is None or self.tare_kg is not None, "a gross weight needs a tare")


@dataclass(frozen=True)
class FedSince:
    """Syrup that each colony of a group got after its inspection: when (local, aware) and what."""

    at: datetime
    each_l: float
    syrup_id: str

    def days_after(self, inspected: date) -> float:
        """Days from the first moment of the inspection's date to the feeding, by the wall clock."""
        wall_s = self.at.hour * 3600 + self.at.minute * 60 + self.at.second
        return (self.at.date() - inspected).days + wall_s / DAY_S


@dataclass(frozen=True)
class ColonyGroup:
    """Colonies of one yard that are alike: as inspected on ``date``, fed by one kind of feeder.

    ``feed_left_l`` was in the feeder at the inspection (in the tub, for a communal one); ``fed`` is what
    each colony got since, in order. Where only some colonies of a group were fed, the day log parts it in
    two; ``part_of`` is then the group's own name. ``daily_use_kg`` None: the operation's own.
    ``target_stores_kg`` None: by the hive. ``hive_frames``: how many of its frames can hold stores; None: not
    known.
    """

    yard_id: str
    group: str
    date: date
    colonies: int
    feeder_id: str
    strength_frames: float
    stores: Stores
    syrup_id: str
    feed_left_l: float = 0.0
    flow_kg_per_day: float = 0.0
    daily_use_kg: float | None = None
    target_stores_kg: float | None = None
    hive_frames: float | None = None
    fed: tuple[FedSince, ...] = ()
    part_of: str = ""

    def __post_init__(self) -> None:
        require(self.colonies >= 0, f"colonies are counted from 0, not {self.colonies}")
        require(self.strength_frames >= 0, f"frames of bees are counted from 0: {self.strength_frames}")


@dataclass(frozen=True)
class Stock:
    """Syrup in store at a depot. ``on_hand_l`` None means not limited; before ``from_s`` there is none.

    ``counted``: the date on whose morning so much was there; None: before anything was noted.
    """

    depot_id: str
    syrup_id: str
    on_hand_l: float | None
    fill_l_per_s: float
    from_s: int = 0
    counted: date | None = None

    def __post_init__(self) -> None:
        require(self.on_hand_l is None or self.on_hand_l >= 0, f"stock is not negative: {self.on_hand_l}")
        require(self.fill_l_per_s > 0, f"a fill rate is above zero: {self.fill_l_per_s}")


@dataclass(frozen=True)
class Depot:
    """A place to load: ``base`` can also load pails, ``wash_down`` cleans truck and gear."""

    depot_id: str
    name: str
    position: Position
    windows: tuple[TimeWindow, ...] = ()
    base: bool = False
    wash_down: bool = False
    setup_s: int = 600
    stock: tuple[Stock, ...] = ()

    def stock_of(self, syrup_id: str) -> Stock | None:
        """The store of one syrup here, or None."""
        return next((row for row in self.stock if row.syrup_id == syrup_id), None)
