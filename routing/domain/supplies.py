"""What is fed and from what: syrups and feeders."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from routing.domain.errors import require


class SyrupKind(StrEnum):
    """Sugar base of a syrup; decides which density table holds."""

    SUCROSE = "sucrose"
    HFCS42 = "hfcs42"
    HFCS55 = "hfcs55"
    INVERT = "invert"
    OTHER = "other"


class FeederPosition(StrEnum):
    """Where on (or off) the hive a feeder sits."""

    ENTRANCE = "entrance"
    FRAME = "frame"
    LID = "lid"
    TOP = "top"
    COMMUNAL = "communal"


class Risk(StrEnum):
    """How likely a feeder is to set off robbing, to drown bees, or to drip."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


@dataclass(frozen=True)
class Syrup:
    """A syrup as bought or mixed. ``density_kg_per_l`` None: from the table of its kind (need/syrup).

    ``conversion`` None: the operation's, or by strength (need/conversion).
    """

    syrup_id: str
    kind: SyrupKind
    solids: float
    price_per_l: float | None = None
    price_per_kg: float | None = None
    density_kg_per_l: float | None = None
    keeps_days: float | None = None
    lot: str = ""
    temperature_c: float | None = None
    supplier: str = ""
    conversion: float | None = None

    def __post_init__(self) -> None:
        require(0 < self.solids < 1, f"solids are a mass fraction between 0 and 1, not {self.solids}")
        require(
            self.density_kg_per_l is None or 0.9 <= self.density_kg_per_l <= 1.6,
            f"a syrup weighs 0.9 to 1.6 kg/L, not {self.density_kg_per_l}",
        )


@dataclass(frozen=True)
class Feeder:
    """A kind of feeder. ``capacity_l`` and ``service_s`` are per colony (per tub for communal); ``service_s``
    is what one worker takes alone (person-seconds).

    ``tilt_derate`` is the share of the capacity lost on a yard that is not level; ``swapped`` feeders
    are filled at base and travel as pails.
    """

    feeder_id: str
    position: FeederPosition
    capacity_l: float
    service_s: float
    opens_hive: bool = False
    meets_bees: bool = True
    swapped: bool = False
    frames_displaced: int = 0
    tilt_derate: float = 0.0
    level_visible: bool = False
    spills: Risk = Risk.LOW
    robbing: Risk = Risk.LOW
    drowning: Risk = Risk.LOW

    def __post_init__(self) -> None:
        require(self.capacity_l > 0, f"a feeder holds more than nothing: {self.capacity_l}")
        require(self.service_s >= 0, f"minutes per colony are not negative: {self.service_s}")
        require(0 <= self.tilt_derate <= 1, f"the share lost to tilt is 0 to 1: {self.tilt_derate}")

    def room_l(self, *, level: bool, left_l: float = 0.0) -> float:
        """What still goes into one on a yard that is ``level`` or not, with so much left in it."""
        return max(0.0, self.capacity_l * (1.0 - (0.0 if level else self.tilt_derate)) - left_l)
