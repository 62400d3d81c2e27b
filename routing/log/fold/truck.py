"""Keep the day of one truck: where it was, how long it drove, worked and rested."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Literal

from routing.log.day import TruckStatus
from routing.log.fold.begin import Resumed
from routing.log.fold.cargo import Cargo

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
    stranded: bool = False
    back_at: datetime | None = None
    resumed: Resumed | None = None
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
            if self.resumed is not None and self.resumed.place == self.place:
                self.resumed = replace(self.resumed, goes=at)
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
        self.stranded = self.underway

    def come_back(self, at: datetime) -> None:
        """It can be used again."""
        self._stand(at)
        self.out_since, self.back_at = None, at
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
        if moved or arrival:
            self.stranded, self.resumed = False, None
        self.place, self.since = place, at

    def take_up(self, place: str, going: str | None, at: datetime, arrives: datetime, goes: datetime) -> None:
        """A plan made at a moment lets it go on from a place; what it has driven by then stays driven.

        ``going``: where it drove by the plan before.
        """
        if not self.underway or self.since is None:
            self.resumed = None
            return
        so_far_s = self.driving_now_s(going, at)
        if place == self.place:
            # What it did not drive until it goes on from here, it stood.
            self._rest_on_way_s += max(0, self._elapsed_s(goes) - so_far_s)
            self.resumed = Resumed(place, goes, so_far_s, so_far_s)
            return
        known = self._planned_s(place)
        rest_s = max(0, round((arrives - at).total_seconds()))
        self.resumed = Resumed(
            place, goes, so_far_s, max(so_far_s, so_far_s + rest_s if known is None else known)
        )

    def halt_orders(self, going: str | None, at: datetime) -> None:
        """A plan made at a moment has no stops for it; one that broke down drives no more till then."""
        if self.status == "out" and self.underway and self.place is not None:
            self.take_up(self.place, going, at, at, at)
        else:
            self.resumed = None

    def way(self, toward: str | None, now: datetime) -> tuple[str | None, datetime | None, str | None]:
        """The leg it is taken to be on: from where, since when, and what it passes first on its way."""
        if not self.underway or self.since is None:
            return self.place, self.since, None
        left = self.since + timedelta(seconds=self._rest_on_way_s)
        left = max(left, self.back_at or left)
        if self.resumed is None:
            return self.place, left, None
        if self.resumed.place == self.place:
            return self.place, max(self.since, self.resumed.goes, self.back_at or self.since), None
        if toward in (None, self.resumed.place):
            return self.place, left, None
        if now < self.resumed.goes:
            return self.place, left, self.resumed.place
        return self.resumed.place, self.resumed.goes, None

    def _planned_s(self, place: str | None) -> int | None:
        """What the plan gives the drive from the last report to a place; None where it has no such drive."""
        if self.place is None or place is None:
            return self.resumed.before_s if self.resumed and self.status == "out" else None
        if self.resumed is None:
            return self.legs.get((self.place, place))
        if place == self.resumed.place:
            return self.resumed.before_s
        on_s = self.legs.get((self.resumed.place, place))
        return None if on_s is None else self.resumed.before_s + on_s

    def _elapsed_s(self, at: datetime) -> int:
        """Seconds since the last report, less those that it rested or stood on its way."""
        assert self.since is not None
        return max(0, round((at - self.since).total_seconds()) - self._rest_on_way_s)

    def _driven_s(self, place: str | None, at: datetime) -> int:
        """Of the time since the last report what was driving: what the plan gives the drive at most."""
        elapsed, known = self._elapsed_s(at), self._planned_s(place)
        # What a plan has counted already is not taken back.
        return max(
            elapsed if known is None else min(elapsed, known), self.resumed.so_far_s if self.resumed else 0
        )

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
        # Unless both leaving and arriving were reported, the time between two reports holds work too: the
        # plan tells what of it was driving; where the plan has no such leg, all of it counts, the safe way.
        reported = arrival and self.underway
        drive_s = self._elapsed_s(at) if reported else self._driven_s(place, at)
        self.drives.append(Drive(self.place, place, self.since, drive_s, reported))
        self._driving_s += drive_s
        self._rest_on_way_s = 0

    def driving_now_s(self, heading: str | None, now: datetime) -> int:
        """Driving not yet reported: from the last report to now, at most what the plan gives the leg."""
        if not self.underway or self.place is None or self.since is None:
            return 0
        if self.status == "out":
            # It stands since it broke down; what it drove until then it has driven.
            return self._driven_s(heading, max(self.since, min(now, self.out_since or now)))
        return self._driven_s(heading, now) if self.status == "working" else 0

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
