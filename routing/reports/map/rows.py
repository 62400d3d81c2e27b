"""Put every stop of a plan into the words that map and panel show."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from routing.domain.fleet import Underway
from routing.domain.operation import Operation
from routing.domain.places import Health, Yard
from routing.domain.plan import Aboard, Fill, Plan, Pour, Route, Stop
from routing.reports.words.changes import NEW, new_visits
from routing.reports.words.depot_calls import Call, calls_of, in_order
from routing.reports.words.format import Units, duration, hhmm, plural, windows
from routing.reports.words.marks import stop_marks, visits
from routing.reports.words.names import place_name, urgent_text
from routing.reports.words.truck_style import TruckStyle

HEALTH_WORDS = {Health.WATCH: "UNDER WATCH", Health.QUARANTINE: "QUARANTINE"}
LONGEST_LABEL = 40
"""Characters of a name drawn on the map."""


@dataclass(frozen=True)
class Word:
    """A status said in words. ``kind`` is its look: quarantine, watch, starving, part, split, quiet."""

    kind: str
    text: str


@dataclass(frozen=True)
class Row:
    """One stop. ``key`` joins its row in the panel to its marker; ``mark`` is what the marker says."""

    key: str
    truck_id: str
    kind: str
    mark: str
    trip: int
    name: str
    place_id: str
    lat: float
    lon: float
    words: tuple[Word, ...]
    times: str
    doing: tuple[str, ...]
    aboard: str
    notes: tuple[str, ...]

    @property
    def spoken(self) -> str:
        """The stop in one line for a screen reader, beginning with what the marker shows."""
        shown = " ".join((self.mark, *(word.text for word in self.words if word.kind != "split")))
        return ". ".join((shown, short(self.name), self.times))


@dataclass(frozen=True)
class Rows:
    """Writes the rows of one plan."""

    operation: Operation
    plan: Plan

    @property
    def units(self) -> Units:
        """The units that the operation reads."""
        return Units(self.operation.units, self.operation.currency)

    def clock(self, stop: Stop, which: str) -> str:
        """Local time of ``arrive``, ``begin`` or ``leave``."""
        return hhmm(getattr(stop, which), self.plan.timezone, self.plan.date)

    def of(self, route: Route, style: TruckStyle, index: int) -> list[Row]:
        """The rows of one route in visiting order; trips are counted from 1 and end with a refill."""
        marks = stop_marks(route)
        seen = visits(self.plan)
        new = new_visits(self.plan, route)
        calls = calls_of(self.operation, route)
        rows = []
        trip = 1
        for number, stop in enumerate(route.stops):
            key, mark = f"t{index}-{number}", marks[stop.seq]
            row = self._row(stop, style, key, mark, trip, seen, stop.seq in new)
            rows.append(replace(row, notes=(*self._loading(calls.get(stop.seq)), *row.notes)))
            trip += stop.kind == "refill"
        return rows

    def _row(
        self,
        stop: Stop,
        style: TruckStyle,
        key: str,
        mark: str,
        trip: int,
        seen: dict[str, tuple[tuple[str, str], ...]],
        new: bool,
    ) -> Row:
        yard = self.operation.yards.get(stop.place_id) if stop.kind == "yard" else None
        visit = seen.get(stop.place_id, ()) if yard else ()
        return Row(
            key=key,
            truck_id=style.truck_id,
            kind=stop.kind,
            mark=f"{style.letter}{mark}"
            if stop.kind == "yard"
            else _halt_mark(style.letter, self._halt_word(stop, style.truck_id), mark),
            trip=trip,
            name=place_name(self.operation, stop),
            place_id=stop.place_id,
            lat=stop.lat,
            lon=stop.lon,
            words=tuple(self._words(stop, yard, len(visit), _visit_number(visit, style.truck_id, mark), new)),
            times=self._times(stop, style.truck_id),
            doing=tuple(self._doing(stop, yard)),
            aboard=self._aboard(style.truck_id, stop.after),
            notes=(*stop.notes, *self._cautions(stop)),
        )

    def _words(
        self, stop: Stop, yard: Yard | None, visit_count: int, visit: int, new: bool
    ) -> Iterator[Word]:
        if yard is None:
            return
        if new:
            yield Word("new", NEW)
        if yard.health in HEALTH_WORDS:
            yield Word(yard.health.value, HEALTH_WORDS[yard.health])
        if urgent_text(self.plan, stop.place_id):
            yield Word("starving", "URGENT")
        if stop.starving:
            yield Word("starving", "STARVING")
        if visit_count > 1:
            yield Word("split", f"visit {visit} of {visit_count}")
        if any(left.yard_id == yard.yard_id for left in self.plan.unfed):
            yield Word("part", "FED IN PART")

    def _underway(self, stop: Stop, truck_id: str) -> Underway | None:
        """The state of a truck that a start finds in mid-day."""
        truck = self.operation.trucks.get(truck_id) if stop.kind == "start" else None
        return truck.underway if truck else None

    def _halt_word(self, stop: Stop, truck_id: str) -> str:
        """What the marker of a stop away from the yards says."""
        state = self._underway(stop, truck_id)
        return stop.kind if state is None else ("truck comes here" if state.moving else "truck is here")

    def _times(self, stop: Stop, truck_id: str) -> str:
        arrive, leave = self.clock(stop, "arrive"), self.clock(stop, "leave")
        if self._underway(stop, truck_id):
            load = ", leave " + leave if stop.fill else ""
            return f"goes on from here at {arrive}" if not load else f"loads from {arrive}{load}"
        if stop.kind == "end":
            return f"back {arrive}"
        if stop.kind == "start":
            return f"load from {arrive}, leave {leave}" if arrive != leave else f"leave {leave}"
        wait_s = (stop.begin - stop.arrive).total_seconds()
        wait = f", wait {duration(wait_s)}, begin {self.clock(stop, 'begin')}" if wait_s >= 60 else ""
        return f"arrive {arrive}{wait}, leave {leave}"

    def _doing(self, stop: Stop, yard: Yard | None) -> Iterator[str]:
        for pour in stop.pour:
            yield self._pour(pour)
        for fill in in_order(stop.fill):
            yield self._fill(fill)
        if stop.kind == "break":
            yield f"Break of {duration((stop.leave - stop.begin).total_seconds())}"
        if stop.kind == "wash":
            yield "Wash down truck and gear"
        if yard is not None and yard.windows:
            yield f"Gate hours {windows(yard.windows)}"

    def _pour(self, pour: Pour) -> str:
        where = f"{plural(pour.colonies, 'colony', 'colonies')}, {pour.group}, {pour.feeder_id}"
        volume = f"{self.units.volume(pour.volume_l)} {pour.syrup_id}"
        if pour.tank_id is None:
            return f"Give {plural(pour.pails, 'full pail')} ({volume}): {where}"
        return f"Pour {volume} from tank {pour.tank_id}: {where}"

    def _fill(self, fill: Fill) -> str:
        volume = f"{self.units.volume(fill.volume_l)} {fill.syrup_id}"
        if fill.tank_id is None:
            return f"Load {plural(fill.pails, 'full pail')} ({volume})"
        return f"Fill {volume} into tank {fill.tank_id}"

    def _aboard(self, truck_id: str, after: Aboard) -> str:
        parts = [
            f"tank {tank_id} {self.units.volume(state.volume_l)}" for tank_id, state in after.tanks.items()
        ]
        if after.pails_full or after.pails_empty:
            parts.append(f"pails {after.pails_full} full, {after.pails_empty} empty")
        truck = self.operation.trucks.get(truck_id)
        limit = f" of {self.units.mass(truck.gvwr_kg)}" if truck else ""
        parts.append(f"gross {self.units.mass(after.gross_kg)}{limit}")
        return "; ".join(parts)

    def _loading(self, call: Call | None) -> Iterator[str]:
        """What to beware of where a trip begins: weak tracks and bridges on it, pails."""
        if call is None:
            return
        if call.limit:
            yield f"Track limit {call.limit.told(self.units)}"
        if call.empties_off:
            yield f"{plural(call.empties_off, 'empty pail')} off"
        if call.empties_back:
            yield f"{plural(call.empties_back, 'empty pail')} expected back on this trip"
        yield from call.checks

    def _cautions(self, stop: Stop) -> Iterator[str]:
        if stop.kind != "break":
            yield from (w.text for w in self.plan.warnings if w.place_id == stop.place_id)


def short(name: str) -> str:
    """A name in one line, cut to what fits beside a marker; the panel has all of it."""
    line = " ".join(name.split())
    return line if len(line) <= LONGEST_LABEL else line[: LONGEST_LABEL - 1] + "…"


def _halt_mark(letter: str, kind: str, mark: str) -> str:
    number = "".join(c for c in mark if c.isdigit())
    return " ".join(part for part in (letter, kind, number) if part)


def _visit_number(visit: tuple[tuple[str, str], ...], truck_id: str, mark: str) -> int:
    return visit.index((truck_id, mark)) + 1 if (truck_id, mark) in visit else 1
