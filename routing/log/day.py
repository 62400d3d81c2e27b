"""How a feeding day stands at a moment: trucks, yards, depots, and where reality has left the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from routing.log.facts import SkipReason

TruckStatus = Literal["not_started", "working", "out", "finished"]
YardStatus = Literal["not_due", "due", "part", "done", "skipped", "left_out"]


@dataclass(frozen=True)
class TankNow:
    """What a tank holds by the book, litres, and the lots that went into it since it was empty."""

    syrup_id: str | None
    volume_l: float
    lots: tuple[str, ...] = ()


@dataclass(frozen=True)
class PailsNow:
    """Full pails of one syrup aboard."""

    count: int
    volume_l: float


@dataclass(frozen=True)
class TruckNow:
    """One truck. ``place`` is where it was last known to be, at ``place_at``; ``heading`` where it goes.

    ``underway``: it was done at ``place``; it is taken to drive to ``heading`` from ``origin``, since
    ``left``. These are the last report's, or those of the plan that has sent it on since. ``via``: where a
    plan lets it go on from first, on its way. ``pausing``: its next stop is a break. ``stranded``: it broke
    down on its way from ``place``, and was not heard of anywhere since.
    ``worked_s`` runs from the start (the planned loading in) to now; ``since_break_s`` from the start or
    the end of the last break. ``driving_since_pause_s`` counts driving since the last pause of the length
    of a break.
    ``drive_estimated``: some arrivals were not reported, so that the plan's driving times stand in.
    ``hygiene_rank`` is the highest health rank met since the start or the last wash-down. ``late_s`` is
    how far behind the plan it runs (negative: ahead), None without a plan or a report. ``heard``: the last
    report; ``silent``: none for so long that the plan has gone on without it.
    """

    truck_id: str
    status: TruckStatus
    place: str | None
    place_at: datetime | None
    arrived: datetime | None
    underway: bool
    heading: str | None
    heading_seq: int | None
    tanks: Mapping[str, TankNow]
    pails: Mapping[str, PailsNow]
    pails_empty: int
    started: datetime | None
    worked_s: int
    driven_s: int
    rested_s: int
    since_break_s: int
    driving_since_pause_s: int
    drive_estimated: bool
    hygiene_rank: int
    done_seqs: tuple[int, ...]
    late_s: int | None
    out_words: str = ""
    heard: datetime | None = None
    silent: bool = False
    origin: str | None = None
    left: datetime | None = None
    via: str | None = None
    pausing: bool = False
    stranded: bool = False

    @property
    def toward(self) -> str | None:
        """The place that it gets to next, where it is on its way."""
        return self.via or self.heading

    @property
    def pails_full(self) -> int:
        """Full pails aboard, all syrups together."""
        return sum(row.count for row in self.pails.values())


@dataclass(frozen=True)
class GroupNow:
    """One group of a yard: what was due, what it got, what is left.

    ``expected_l`` is what the plan gives to the colonies fed so far, ``poured_l`` what they got;
    ``each_l`` what the plan gives to each that is left.
    """

    group: str
    feeder_id: str
    syrup_id: str
    due_colonies: int
    fed_colonies: int
    left_colonies: int
    each_l: float
    expected_l: float
    poured_l: float
    alive: int | None = None
    light: int | None = None


@dataclass(frozen=True)
class SkipNow:
    """Why a yard was last left unfed, and when."""

    reason: SkipReason
    words: str
    at: datetime
    truck_id: str


@dataclass(frozen=True)
class YardNow:
    """One yard. ``closed``: it cannot be entered before ``closed_until`` (None: today no more).

    ``left_out``: why the plan in force gives nothing (more) to a yard that waits for it, and for how many
    colonies (0: it may not be fed).
    """

    yard_id: str
    status: YardStatus
    groups: tuple[GroupNow, ...]
    truck_ids: tuple[str, ...] = ()
    skipped: SkipNow | None = None
    closed: bool = False
    closed_until: datetime | None = None
    urgent: bool = False
    urgent_words: str = ""
    urgent_colonies: int | None = None
    urgent_each_l: float | None = None
    urgent_total_l: float | None = None
    urgent_at: datetime | None = None
    left_out: str = ""
    left_out_colonies: int = 0

    @property
    def left_colonies(self) -> int:
        """Colonies that still wait for what the plan gives them."""
        return sum(group.left_colonies for group in self.groups)


@dataclass(frozen=True)
class DepotNow:
    """One depot. ``stock_l`` by syrup; None: not limited."""

    depot_id: str
    stock_l: Mapping[str, float | None]
    closed: bool = False
    closed_until: datetime | None = None
    words: str = ""


@dataclass(frozen=True)
class Gap:
    """Where reality has left the plan, or the log does not add up. ``code`` is one of ``GAPS``.

    ``amount`` is in SI: seconds, litres, colonies or pails, as the code says.
    """

    code: str
    truck_id: str = ""
    place: str = ""
    item: str = ""
    amount: float = 0.0
    event_id: str = ""


GAPS: dict[str, str] = {
    "late": "a truck runs behind the plan (s)",
    "early": "a truck runs ahead of the plan (s)",
    "poured_short": "a group got less than planned for the colonies fed (L)",
    "poured_over": "a group got more than planned for the colonies fed (L)",
    "fed_again": "a group that was fed in full already was fed again (L)",
    "too_many": "more colonies were fed than the group has (colonies)",
    "part_done": "colonies of a yard still wait (colonies)",
    "skipped": "a yard was left unfed (colonies)",
    "dead": "fewer colonies live than are due (colonies)",
    "other_truck": "a yard was fed by a truck that was not planned for it",
    "not_planned": "a yard was fed that the plan does not feed (L)",
    "passed_over": "a planned yard was passed by",
    "tank_short": "more was poured than the tank was recorded to hold (L)",
    "tank_over": "more was filled than the tank had room for by the records (L)",
    "gauge_gap": "the gauge shows more than the book, or (below zero) less (L)",
    "gauge_over": "the gauge shows more than the tank holds: read or typed wrong? (L)",
    "meter_gap": "the meter counted more than was noted, or (below zero) less (L)",
    "wrong_syrup": "a syrup was filled onto another, or taken from a tank that holds another (L)",
    "pails_short": "more full pails were given than were aboard by the book (pails)",
    "stock_short": "more was taken from a depot than it had by the book (L)",
    "urgent_over": "more was asked for than the feeders there take (L)",
    "urgent_colonies": "more colonies were called in than the yard has (colonies)",
    "urgent_fed": "a yard was called in that was fed in full already: nothing more is planned there",
    "start_assumed": "no start was reported: the plan's start and load are taken",
    "unknown": "the files no longer know the truck, yard, depot or tank of an event",
    "waiting": "a note waits, as typed, until it can be taken in",
    "no_plan_text": "a plan was named that the log does not hold",
}
"""Every code of a ``Gap``, with its meaning and the unit of its amount."""

LATE_S = 300
"""A truck within five minutes of its plan is on time (a choice)."""

SILENT_S = 1800
"""A truck is silent when its next report is half an hour overdue, by the plan and its lateness (a choice)."""

POUR_SLACK = 0.02
"""Pours within this share of the plan are as planned (a choice: about what a gauge can be read to)."""


@dataclass(frozen=True)
class DayNow:
    """The whole day at ``now``. ``plan_ids``: the plans in force so far, the newest last."""

    day: date
    now: datetime
    plan_ids: tuple[str, ...]
    trucks: Mapping[str, TruckNow]
    yards: Mapping[str, YardNow]
    depots: Mapping[str, DepotNow]
    gaps: tuple[Gap, ...]
    events: int
