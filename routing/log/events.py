"""One event of the day log: a fact with its own id and time, and the names facts are recorded under."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from routing.domain.errors import require
from routing.log.facts import (
    Arrived,
    DepotClosed,
    Fed,
    Finished,
    Gauged,
    Left,
    Mixed,
    Planned,
    Received,
    Refilled,
    Rested,
    Skipped,
    Started,
    TruckBack,
    TruckOut,
    Urgent,
    Waiting,
    Washed,
    Withdrawn,
    YardClosed,
)

Fact = (
    Planned
    | Started
    | Arrived
    | Left
    | Fed
    | Skipped
    | Refilled
    | Gauged
    | Mixed
    | Received
    | Washed
    | Rested
    | TruckOut
    | TruckBack
    | DepotClosed
    | YardClosed
    | Urgent
    | Finished
    | Withdrawn
    | Waiting
)

KINDS: dict[str, type[Fact]] = {
    "planned": Planned,
    "started": Started,
    "arrived": Arrived,
    "left": Left,
    "fed": Fed,
    "skipped": Skipped,
    "refilled": Refilled,
    "gauged": Gauged,
    "mixed": Mixed,
    "received": Received,
    "washed": Washed,
    "break": Rested,
    "out": TruckOut,
    "back": TruckBack,
    "depot_closed": DepotClosed,
    "yard_closed": YardClosed,
    "urgent": Urgent,
    "finished": Finished,
    "withdrawn": Withdrawn,
    "waiting": Waiting,
}
"""Every kind of fact by the name it is recorded under."""

_NAMES = {made: name for name, made in KINDS.items()}
_NO_TRUCK = (Planned, Mixed, Received, DepotClosed, YardClosed, Urgent, Withdrawn, Skipped, Waiting)


@dataclass(frozen=True)
class Event:
    """One fact with its own id, the time it was so (``at``, aware) and the feeding date it belongs to.

    ``corrects`` names the event that this one stands in for. ``said`` is the note as typed. ``recorded``
    and ``seq`` are set by the log when it takes the event.
    """

    event_id: str
    day: date
    at: datetime
    fact: Fact
    truck_id: str = ""
    corrects: str = ""
    said: str = ""
    recorded: datetime | None = None
    seq: int = 0

    def __post_init__(self) -> None:
        require(bool(self.event_id), "an event needs an id")
        require(self.at.utcoffset() is not None, "the time of an event knows its offset from UTC")
        require(
            isinstance(self.fact, _NO_TRUCK) or bool(self.truck_id), f"{self.kind}: say which truck it was"
        )
        require(not isinstance(self.fact, Withdrawn) or bool(self.corrects), "say which event is withdrawn")

    @property
    def kind(self) -> str:
        """The name its fact is recorded under."""
        return _NAMES[type(self.fact)]
