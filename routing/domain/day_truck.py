"""Keep the day of one truck: where it was, how long it drove, worked and rested."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from routing.domain.day import TruckStatus
from routing.domain.day_cargo import Cargo

Phase = Literal["arrive", "leave"]


@dataclass(frozen=True)
class Mark:
    """A report that can be held against a planned stop: kind of stop, place id, and the moment."""

    kind: str
    place: str
    at: datetime
    phase: Phase


@dataclass(frozen=True)
class Drive:
    """One drive: whole seconds; ``reported`` when both its ends were."""

    origin: str
    destination: str
    left: datetime
    drive_s: int
    reported: bool


@dataclass(frozen=True)
class Stay:
    """One halt at a place from a reported arrival to the last report there."""

    place: str
    arrived: datetime
    left: datetime


@dataclass
class TruckDay:
    """One truck, as the events move it. ``legs`` are the plan's driving seconds between places."""

    truck_id: str
    cargo: Cargo
    break_s: int
    legs: Mapping[tuple[str, str], int] = field(default_factory=dict)
    status: TruckStatus = "not_started"
    place: str | None = None
    since: datetime | None = None
    arrived: datetime | None = None
    underway: bool = False
    started: datetime | None = None
    ended: datetime | None = None
    last_break_end: datetime | None = None
    rested_s: int = 0
    rank: int = 0
    rank_before: int = 0
    drives: list[Drive] = field(default_factory=list)
    stays: list[Stay] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    out_words: str = ""
    out_since: datetime | None = None
    heard: datetime | None = None
    _rest_on_way_s: int = 0
    _driving_s: int = 0

    def start(self, place: str, at: datetime) -> None:
        """The shift begins."""
        self.started = self.started or at
        self.status = "working"
        self.ended = None
        self._be_at(place, at, arrival=False)
        self.underway = True

    def arrive(self, place: str, at: datetime) -> None:
        """Reach a place."""
        self._be_at(place, at, arrival=True)
        self.underway = False

    def work_done(self, place: str, at: datetime) -> None:
        """Be done at a place, and go on."""
        self._be_at(place, at, arrival=False)
        self.underway = True

    def leave(self, at: datetime) -> None:
        """Leave where it stands."""
        if self.place is not None:
            self.since = at
        self.underway = True

    def rest(self, seconds: int, at: datetime) -> None:
        """A break of some seconds ended."""
        self.rested_s += seconds
        self.last_break_end = at
        self._rest_on_way_s += seconds
        if seconds >= self.break_s:
            self._driving_s = 0
        if not self.underway and self.place is not None:
            self.since = at

    def break_down(self, words: str, at: datetime) -> None:
        """It cannot go on: from here on it does not drive."""
        self.out_since = at if self.status != "out" else self.out_since
        self.status, self.out_words = "out", words

    def come_back(self, at: datetime) -> None:
        """It can be used again."""
        self._stand(at)
        self.out_since = None
        self.status, self.out_words = "working" if self.started else "not_started", ""

    def _stand(self, until: datetime) -> None:
        """Count out of its driving what it stood still on its way since it broke down."""
        if self.out_since is None or not self.underway or self.since is None:
            return
        stood_s = max(0, round((until - max(self.out_since, self.since)).total_seconds()))
        self._rest_on_way_s += stood_s
        if self.break_s and stood_s >= self.break_s:
            self._driving_s = 0
        self.out_since = until

    def end(self, place: str, at: datetime) -> None:
        """The shift is over."""
        self._be_at(place, at, arrival=True)
        self.underway = False
        self.status = "finished"
        self.ended = at

    def _be_at(self, place: str, at: datetime, arrival: bool) -> None:
        moved = self.place is not None and place != self.place
        if moved:
            self._close_stay()
            self._drive(place, at, arrival)
        if self.place is None or moved or (arrival and self.underway):
            self.arrived = at if arrival else None
        self.place, self.since = place, at

    def _close_stay(self) -> None:
        if self.place is None or self.arrived is None or self.since is None:
            return
        self.stays.append(Stay(self.place, self.arrived, self.since))
        if self.break_s and (self.since - self.arrived).total_seconds() >= self.break_s:
            self._driving_s = 0

    def _drive(self, place: str, at: datetime, arrival: bool) -> None:
        assert self.place is not None
        assert self.since is not None
        self._stand(at)
        elapsed = max(0, round((at - self.since).total_seconds()) - self._rest_on_way_s)
        # Unless both leaving and arriving were reported, the time between two reports holds work too: the
        # plan tells what of it was driving; where the plan has no such leg, all of it counts, the safe way.
        reported = arrival and self.underway
        drive_s = elapsed if reported else min(elapsed, self.legs.get((self.place, place), elapsed))
        self.drives.append(Drive(self.place, place, self.since, drive_s, reported))
        self._driving_s += drive_s
        self._rest_on_way_s = 0

    def driving_now_s(self, heading: str | None, now: datetime) -> int:
        """Driving not yet reported: from the last report to now, at most what the plan gives the leg."""
        if not self.underway or self.status != "working" or self.place is None or self.since is None:
            return 0
        elapsed = max(0, round((now - self.since).total_seconds()) - self._rest_on_way_s)
        known = self.legs.get((self.place, heading)) if heading else None
        return elapsed if known is None else min(elapsed, known)

    def driving_since_pause_s(self, now: datetime, ahead_s: int) -> int:
        """Driving since the last pause as long as a break; a halt still going on counts as one."""
        halted = self.arrived is not None and not self.underway
        if halted and self.break_s and self.arrived is not None:
            pause = (self.ended or now) - self.arrived
            if pause.total_seconds() >= self.break_s:
                return 0
        return self._driving_s + ahead_s

    def worked_s(self, now: datetime) -> int:
        """From the start to now, or to the end of the shift."""
        if self.started is None:
            return 0
        return max(0, round(((self.ended or now) - self.started).total_seconds()))

    def since_break_s(self, now: datetime) -> int:
        """From the start, or the end of the last break, to now."""
        if self.started is None:
            return 0
        begin = max(self.started, self.last_break_end or self.started)
        return max(0, round(((self.ended or now) - begin).total_seconds()))
