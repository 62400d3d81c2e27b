"""Keep the book of the yards: what is due in each, what it got, why it was left."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from routing.domain.plan import Plan, Route
from routing.log.day import GroupNow, SkipNow, YardNow, YardStatus
from routing.log.facts import Fed, Poured, Urgent


@dataclass
class GroupBook:
    """One group as the day goes on."""

    group: str
    feeder_id: str
    syrup_id: str
    due: int = 0
    each_l: float = 0.0
    fed: int = 0
    expected_l: float = 0.0
    poured_l: float = 0.0
    alive: int | None = None
    light: int | None = None

    @property
    def left(self) -> int:
        """Living colonies that still wait."""
        due = self.due if self.alive is None else min(self.due, self.alive)
        return max(0, due - self.fed)

    def pour(self, row: Poured) -> float:
        """Book a pour; the litres it is over (negative: under) what the plan gives those colonies."""
        # Colonies beyond those due got what nobody planned for them.
        planned = min(row.colonies, max(0, self.due - self.fed))
        expected_l = round(planned * self.each_l, 3)
        self.fed += row.colonies
        self.expected_l = round(self.expected_l + expected_l, 3)
        self.poured_l = round(self.poured_l + row.volume_l, 3)
        self.alive = row.alive if row.alive is not None else self.alive
        self.light = row.light if row.light is not None else self.light
        self.feeder_id, self.syrup_id = row.feeder_id, row.syrup_id
        return round(row.volume_l - expected_l, 3)


@dataclass
class YardBook:
    """One yard as the day goes on."""

    yard_id: str
    groups: dict[str, GroupBook] = field(default_factory=dict)
    truck_ids: tuple[str, ...] = ()
    skipped: SkipNow | None = None
    visited: bool = False
    finished: bool = False
    closed: bool = False
    closed_until: datetime | None = None
    urgent: Urgent | None = None
    urgent_at: datetime | None = None
    left_out: str = ""
    left_out_colonies: int = 0

    def group(self, name: str, feeder_id: str, syrup_id: str) -> GroupBook:
        """The book of a group, opened when it is first named."""
        return self.groups.setdefault(name, GroupBook(name, feeder_id, syrup_id))

    def feed(self, fact: Fed) -> list[tuple[Poured, float]]:
        """Book a visit; each pour with its litres over or under the plan."""
        self.skipped, self.visited = None, True
        self.finished = fact.finished
        self.urgent = self.urgent_at = None
        return [(row, self.group(row.group, row.feeder_id, row.syrup_id).pour(row)) for row in fact.pours]

    def call(self, fact: Urgent, at: datetime) -> None:
        """Book a call: whatever was said or planned before, the yard must be fed."""
        self.urgent, self.urgent_at = fact, at
        self.skipped, self.finished = None, False
        self.left_out, self.left_out_colonies = "", 0

    @property
    def left(self) -> int:
        """Colonies that still wait."""
        return 0 if self.finished else sum(book.left for book in self.groups.values())

    @property
    def status(self) -> YardStatus:
        """In one word."""
        fed = self.visited and (self.finished or sum(b.fed for b in self.groups.values()) > 0)
        if self.left == 0 and fed:
            return "done"
        if fed:
            return "part"
        if self.skipped is not None:
            return "skipped"
        if not self.left and self.left_out:
            return "left_out"
        return "due" if self.left or self.urgent else "not_due"

    def now(self) -> YardNow:
        """How the yard stands."""
        urgent = self.urgent
        return YardNow(
            self.yard_id,
            self.status,
            tuple(self._group_now(book) for book in self.groups.values()),
            self.truck_ids,
            self.skipped,
            self.closed,
            self.closed_until,
            urgent is not None,
            urgent.words if urgent else "",
            urgent.colonies if urgent else None,
            urgent.each_l if urgent else None,
            urgent.total_l if urgent else None,
            self.urgent_at,
            self.left_out,
            self.left_out_colonies,
        )

    def _group_now(self, book: GroupBook) -> GroupNow:
        return GroupNow(
            book.group,
            book.feeder_id,
            book.syrup_id,
            book.due,
            book.fed,
            0 if self.finished else book.left,
            book.each_l,
            book.expected_l,
            book.poured_l,
            book.alive,
            book.light,
        )


def take_plan(yards: dict[str, YardBook], plan: Plan) -> None:
    """Make a plan the one in force: what is due is what was fed before it and what it gives."""
    waited = {yard.yard_id for yard in yards.values() if yard.left or yard.left_out or yard.urgent}
    for yard in yards.values():
        yard.truck_ids = ()
        yard.left_out, yard.left_out_colonies = "", 0
        for book in yard.groups.values():
            book.due = book.fed
    for unserved in plan.unserved:
        # What never had its turn (supers on, stores enough) is not left out by the plan.
        missed = unserved.volume_l > 0 or unserved.starving
        if unserved.unfed and (missed or unserved.yard_id in waited):
            yard = yards.setdefault(unserved.yard_id, YardBook(unserved.yard_id))
            yard.left_out, yard.left_out_colonies = unserved.reason, unserved.colonies
    given: dict[tuple[str, str], list[float]] = {}
    for route in plan.routes:
        _take_route(yards, route, given)
    for (yard_id, group), (colonies, volume_l) in given.items():
        book = yards[yard_id].groups[group]
        book.each_l = volume_l / colonies if colonies else 0.0


def _take_route(yards: dict[str, YardBook], route: Route, given: dict[tuple[str, str], list[float]]) -> None:
    for stop in route.stops:
        if stop.kind != "yard":
            continue
        yard = yards.setdefault(stop.place_id, YardBook(stop.place_id))
        yard.truck_ids = tuple(dict.fromkeys((*yard.truck_ids, route.truck_id)))
        for pour in stop.pour:
            yard.group(pour.group, pour.feeder_id, pour.syrup_id).due += pour.colonies
            sums = given.setdefault((stop.place_id, pour.group), [0.0, 0.0])
            sums[0] += pour.colonies
            sums[1] += pour.volume_l
