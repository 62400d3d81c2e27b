"""The facts of a feeding day: what crews report, one frozen type for each kind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from routing.domain.errors import require


class SkipReason(StrEnum):
    """Why a crew left a yard unfed: the boxes of the run sheet."""

    GATE_LOCKED = "gate_locked"
    MUD = "mud"
    OWNER_REFUSED = "owner_refused"
    ROBBING = "robbing"
    SICK_BROOD = "sick_brood"
    COLD_OR_WET = "cold_or_wet"
    SUPERS_OR_FLOW = "supers_or_flow"
    NO_SYRUP = "no_syrup"
    NO_TIME = "no_time"
    OTHER = "other"

    @property
    def entered(self) -> bool:
        """Whether the crew was among the hives before it turned away."""
        return self in _ENTERED


_ENTERED = frozenset({SkipReason.ROBBING, SkipReason.SICK_BROOD, SkipReason.SUPERS_OR_FLOW, SkipReason.OTHER})


@dataclass(frozen=True)
class Meter:
    """Readings of a flow meter before and after, litres."""

    start_l: float
    end_l: float

    def __post_init__(self) -> None:
        require(0 <= self.start_l <= self.end_l, "a meter counts up: its end is not before its start")

    @property
    def volume_l(self) -> float:
        """What went through it."""
        return self.end_l - self.start_l


@dataclass(frozen=True)
class Poured:
    """What one group got: ``tank_id`` for what was pumped, ``pails`` for what was swapped.

    ``alive`` and ``light`` are colonies found so in the group; None: not counted.
    """

    group: str
    feeder_id: str
    syrup_id: str
    colonies: int
    volume_l: float
    tank_id: str | None = None
    pails: int = 0
    lot: str = ""
    alive: int | None = None
    light: int | None = None

    def __post_init__(self) -> None:
        require(self.colonies >= 0, f"colonies are counted from 0, not {self.colonies}")
        require(self.volume_l >= 0, f"nobody pours less than nothing: {self.volume_l}")
        require(self.pails >= 0, f"pails are counted from 0, not {self.pails}")
        require(self.alive is None or self.alive >= 0, f"living colonies are counted from 0: {self.alive}")
        require(self.light is None or self.light >= 0, f"light colonies are counted from 0: {self.light}")


@dataclass(frozen=True)
class Filled:
    """Syrup taken aboard: into a tank, or as full pails (``tank_id`` None)."""

    syrup_id: str
    volume_l: float
    tank_id: str | None = None
    pails: int = 0
    lot: str = ""

    def __post_init__(self) -> None:
        require(self.volume_l >= 0, f"nobody loads less than nothing: {self.volume_l}")
        require(self.pails >= 0, f"pails are counted from 0, not {self.pails}")


@dataclass(frozen=True)
class Planned:
    """The plan the crews drive by. ``rest``: it holds for the rest of the day, from its time on."""

    plan_id: str
    rest: bool = False
    path: str = ""


@dataclass(frozen=True)
class Started:
    """A truck left its depot, loaded. ``as_planned``: nobody measured, the plan's figures are taken."""

    depot_id: str
    fills: tuple[Filled, ...] = ()
    as_planned: bool = False


@dataclass(frozen=True)
class Arrived:
    """A truck reached a place (a key of ``Operation.positions()``)."""

    place: str


@dataclass(frozen=True)
class Left:
    """A truck left where it was, ``to`` a place if said."""

    to: str = ""


@dataclass(frozen=True)
class Fed:
    """A yard was fed; the time is when the crew was done. ``finished``: nothing more is due there today."""

    yard_id: str
    pours: tuple[Poured, ...]
    meter: Meter | None = None
    finished: bool = False
    as_planned: bool = False
    words: str = ""


@dataclass(frozen=True)
class Skipped:
    """A yard was left unfed. ``until``: it can be entered from then on."""

    yard_id: str
    reason: SkipReason
    words: str = ""
    until: datetime | None = None


@dataclass(frozen=True)
class Refilled:
    """Syrup was loaded at a depot; the time is when it was done."""

    depot_id: str
    fills: tuple[Filled, ...]
    meter: Meter | None = None
    as_planned: bool = False
    words: str = ""


@dataclass(frozen=True)
class Gauged:
    """What the gauge of a tank shows."""

    tank_id: str
    volume_l: float

    def __post_init__(self) -> None:
        require(self.volume_l >= 0, f"a gauge shows no less than nothing: {self.volume_l}")


@dataclass(frozen=True)
class Mixed:
    """Syrup was mixed at a depot. ``words``: from what."""

    depot_id: str
    syrup_id: str
    volume_l: float
    lot: str = ""
    words: str = ""

    def __post_init__(self) -> None:
        require(self.volume_l > 0, f"a batch must be positive: {self.volume_l}")


@dataclass(frozen=True)
class Received:
    """Syrup was delivered to a depot."""

    depot_id: str
    syrup_id: str
    volume_l: float
    lot: str = ""
    supplier: str = ""
    words: str = ""

    def __post_init__(self) -> None:
        require(self.volume_l > 0, f"a delivery is more than nothing: {self.volume_l}")


@dataclass(frozen=True)
class Washed:
    """Truck and gear were washed down; the time is when it was done."""

    depot_id: str


@dataclass(frozen=True)
class Rested:
    """The crew took a break; the time is when it ended."""

    seconds: int

    def __post_init__(self) -> None:
        require(0 < self.seconds <= 12 * 3600, f"a break lasts up to 12 hours, not {self.seconds} s")


@dataclass(frozen=True)
class TruckOut:
    """A truck cannot go on."""

    words: str = ""


@dataclass(frozen=True)
class TruckBack:
    """A truck can be used (again), also one that was not in the plan."""

    words: str = ""


@dataclass(frozen=True)
class DepotClosed:
    """A depot cannot be used ``until`` (None: for the rest of the day)."""

    depot_id: str
    until: datetime | None = None
    words: str = ""


@dataclass(frozen=True)
class YardClosed:
    """A yard cannot be entered ``until`` (None: for the rest of the day)."""

    yard_id: str
    until: datetime | None = None
    words: str = ""


@dataclass(frozen=True)
class Urgent:
    """A yard must be fed today, planned or not.

    ``each_l`` per colony, or ``total_l`` for the whole yard; neither: as its need says.
    """

    yard_id: str
    colonies: int | None = None
    each_l: float | None = None
    words: str = ""
    total_l: float | None = None

    def __post_init__(self) -> None:
        require(self.colonies is None or self.colonies > 0, f"colonies to feed: {self.colonies}")
        require(self.each_l is None or self.each_l > 0, f"syrup per colony is more than 0: {self.each_l}")
        require(self.total_l is None or self.total_l > 0, f"syrup in all is more than 0: {self.total_l}")
        require(self.each_l is None or self.total_l is None, "an amount is per colony or in all, not both")


@dataclass(frozen=True)
class Finished:
    """A truck is home and its day is over."""

    depot_id: str


@dataclass(frozen=True)
class Withdrawn:
    """What an event said did not happen; the event is named by ``Event.corrects``."""

    words: str = ""


@dataclass(frozen=True)
class Waiting:
    """A note as typed, kept while the files of the operation cannot be read. It says nothing of the day yet.

    ``note_id``: the id of the event that it becomes once they can.
    """

    words: tuple[str, ...]
    note_id: str
