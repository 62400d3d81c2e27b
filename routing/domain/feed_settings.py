"""What bees take from feeders and how long syrup keeps there: estimates that every dose rests on."""

from __future__ import annotations

from dataclasses import dataclass, fields

from routing.domain.errors import require
from routing.domain.settings import ESTIMATE, setting
from routing.domain.supplies import FeederPosition

_SPEED = "times as fast as over the lid"
_FRAMES = "frames of bees beyond which the feeder is the limit"


@dataclass(frozen=True)
class UptakeSettings:
    """[uptake]: how fast a colony empties a feeder. Nobody has published it by feeder and strength.

    Anchors: a strong colony takes 1.9 to 3.8 L a day, 2.3 and 4 L from hive-top feeders; a four-frame
    nucleus 0.24 to 0.32 L from a jar (keepers' pages, weak). Two gallons over the lid last a strong colony
    about a week (common practice, no source).
    """

    l_per_frame_day: float = setting(0.125, "L per frame of bees and day, over the lid", ESTIMATE)
    entrance: float = setting(0.5, _SPEED, ESTIMATE)
    lid: float = setting(1.0, _SPEED, "a choice: the measure of the others")
    frame: float = setting(1.3, _SPEED, ESTIMATE)
    top: float = setting(1.8, _SPEED, "estimate: 9 kg sugar in 5 days, a single report")
    communal: float = setting(1.3, _SPEED, ESTIMATE)
    entrance_frames: float = setting(8.0, _FRAMES, ESTIMATE)
    lid_frames: float = setting(10.0, _FRAMES, ESTIMATE)
    frame_frames: float = setting(14.0, _FRAMES, ESTIMATE)
    top_frames: float = setting(20.0, _FRAMES, ESTIMATE)
    communal_frames: float = setting(20.0, _FRAMES, ESTIMATE)

    def __post_init__(self) -> None:
        for f in fields(self):
            require(getattr(self, f.name) > 0, f"{f.name} is above zero: {getattr(self, f.name)}")

    def speed(self, position: FeederPosition) -> float:
        """How many times as fast as over the lid a feeder is emptied."""
        return float(getattr(self, position.value))

    def most_frames(self, position: FeederPosition) -> float:
        """Frames of bees beyond which the feeder is the limit."""
        return float(getattr(self, f"{position.value}_frames"))


_KEEPS = "days at 30 C"


@dataclass(frozen=True)
class KeepingSettings:
    """[keeping]: days until syrup ferments or moulds at 30 C, by solids; twice as long per 10 C less.

    Anchors: 1:1 does not last a week at hive-top warmth, 2:1 spoils slowly or not (field report of a
    beekeepers' association). No government text with days is known.
    """

    solids_30: float = setting(2.0, _KEEPS, ESTIMATE)
    solids_50: float = setting(5.0, _KEEPS, "estimate: 1:1 does not last a week")
    solids_55: float = setting(8.0, _KEEPS, ESTIMATE)
    solids_60: float = setting(14.0, _KEEPS, ESTIMATE)
    solids_67: float = setting(30.0, _KEEPS, "estimate: 2:1 spoils slowly or not")
    solids_70: float = setting(60.0, _KEEPS, ESTIMATE)
    solids_77: float = setting(120.0, _KEEPS, "estimate: bought syrups keep 6 months at 20 C")

    def __post_init__(self) -> None:
        days = [getattr(self, f.name) for f in fields(self)]
        require(min(days) > 0, f"syrup keeps longer than nothing: {min(days)}")
        require(days == sorted(days), f"thicker syrup keeps no shorter: {days}")

    @property
    def by_solids(self) -> tuple[tuple[float, float], ...]:
        """Days at 30 C by mass fraction of solids."""
        return (
            (0.30, self.solids_30), (0.50, self.solids_50), (0.55, self.solids_55), (0.60, self.solids_60),
            (0.667, self.solids_67), (0.70, self.solids_70), (0.77, self.solids_77),
        )  # fmt: skip
