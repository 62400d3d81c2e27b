"""Put every stop of a plan into the words that map and list show."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from routing.domain.fleet import Underway
from routing.domain.places import Health
from routing.domain.plan import Aboard, Fill, Pour, Stop
from routing.reports.words.changes import NEW
from routing.reports.words.depot_calls import Call, in_order, take_text
from routing.reports.words.format import duration, plural
from routing.reports.words.names import place_name, urgent_text
from routing.reports.words.route_day import Fact, RouteDay
from routing.reports.words.stop_facts import drive_text, own_cautions, yard_facts
from routing.reports.words.supply_names import feeder_name, syrup_name

HEALTH_WORDS = {Health.WATCH: "UNDER WATCH", Health.QUARANTINE: "QUARANTINE"}
SIGNS = {"starving": "!", "quarantine": "Q", "watch": "w"}
LEADS = {"start": "Load", "refill": "Refill", "wash": "Wash down", "break": "Break", "end": "Back"}
LONGEST_LABEL = 40
"""Characters of a name drawn on the map."""


@dataclass(frozen=True)
class Word:
    """A status said in words. ``kind`` is its look: quarantine, watch, starving, part, split, new."""

    kind: str
    text: str

    @property
    def sign(self) -> str:
        """The sign that stands for it beside a dot; empty where there is none."""
        return SIGNS.get(self.kind, "")


@dataclass(frozen=True)
class Row:
    """One stop. ``key`` joins its row in the list to its mark; ``number`` is what its crew calls it by.

    ``lead`` is said before the name away from the yards; ``brief`` is what is done here in a few words.
    """

    key: str
    truck_id: str
    kind: str
    letter: str
    number: str
    trip: int
    lead: str
    name: str
    place_id: str
    lat: float
    lon: float
    at: str
    latest: str
    leave: str
    words: tuple[Word, ...]
    times: str
    brief: str
    doing: tuple[str, ...]
    facts: tuple[Fact, ...]
    aboard: str
    notes: tuple[str, ...]
    pause: str = ""
    underway: bool = False

    @property
    def mark(self) -> str:
        """``A7``: the stop as the whole day calls it."""
        return (
            f"{self.letter}{self.number}" if self.kind == "yard" else f"{self.letter} {self.number}".strip()
        )

    @property
    def flag(self) -> str:
        """The most pressing sign: starving before quarantine before watch."""
        signs = [word.sign for word in self.words]
        return next((sign for sign in SIGNS.values() if sign in signs), "")

    @property
    def find(self) -> str:
        """What a search finds the stop by."""
        return f"{self.mark} {short(self.name)}".lower()

    @property
    def spoken(self) -> str:
        """The stop in one line, beginning with what the map shows."""
        shown = " ".join((self.mark, *(word.text for word in self.words if word.kind != "split")))
        lead = f"{self.lead} at " if self.lead and self.kind != "end" else ""
        return ". ".join(part for part in (shown, lead + short(self.name), self.times, self.brief) if part)


class Rows:
    """Writes the rows of one route."""

    def __init__(self, day: RouteDay, index: int) -> None:
        self.day, self.index = day, index

    def all(self) -> list[Row]:
        """The rows in visiting order; trips are counted from 1 and end with a refill."""
        rows = []
        trip = 1
        for position, stop in enumerate(self.day.route.stops):
            rows.append(self._row(position, stop, trip))
            trip += stop.kind == "refill"
        return rows

    def _row(self, position: int, stop: Stop, trip: int) -> Row:
        day, yard = self.day, stop.kind == "yard"
        after = day.route.stops[position + 1 : position + 2]
        return Row(
            key=f"t{self.index}-{position}",
            truck_id=day.route.truck_id,
            kind=stop.kind,
            letter=day.letter,
            number=day.marks[stop.seq] if stop.kind not in ("start", "end") else "",
            trip=trip,
            lead=self._lead(stop),
            name=place_name(day.operation, stop),
            place_id=stop.place_id,
            lat=stop.lat,
            lon=stop.lon,
            at=day.clock(stop.arrive),
            latest=day.clock(stop.latest_arrive) if stop.latest_arrive else "",
            leave=day.clock(stop.leave),
            words=tuple(self._words(stop)) if yard else (),
            times=self._times(stop),
            brief=self._brief(stop),
            doing=tuple(self._doing(stop)),
            facts=tuple(self._facts(stop)),
            aboard=self._aboard(stop.after) if stop.kind != "break" else "",
            notes=tuple(self._notes(stop)),
            underway=self.underway(stop) is not None,
            pause=day.clock(after[0].begin) if yard and after and after[0].kind == "break" else "",
        )

    def _lead(self, stop: Stop) -> str:
        state = self.underway(stop)
        if state is None or stop.fill:
            return LEADS.get(stop.kind, "")
        return "On the way to" if state.moving else "Broke down after" if state.stranded else "Now at"

    def underway(self, stop: Stop) -> Underway | None:
        """The state of a truck that a start finds in mid-day."""
        return self.day.truck.underway if self.day.truck and stop.kind == "start" else None

    def _words(self, stop: Stop) -> Iterator[Word]:
        day = self.day
        yard = day.operation.yards.get(stop.place_id)
        if stop.seq in day.new:
            yield Word("new", NEW)
        if urgent_text(day.plan, stop.place_id):
            yield Word("urgent", "URGENT")
        if stop.starving:
            yield Word("starving", "STARVING")
        if yard is not None and yard.health in HEALTH_WORDS:
            yield Word(yard.health.value, HEALTH_WORDS[yard.health])
        visits = day.visits.get(stop.place_id, ())
        if len(visits) > 1:
            here = (day.route.truck_id, day.marks[stop.seq])
            yield Word("split", f"visit {visits.index(here) + 1} of {len(visits)}")
        if any(left.yard_id == stop.place_id for left in day.plan.unfed):
            yield Word("part", "FED IN PART")

    def _times(self, stop: Stop) -> str:
        day = self.day
        arrive, leave = day.clock(stop.arrive), day.clock(stop.leave)
        if self.underway(stop):
            return f"loads from {arrive}, leaves {leave}" if stop.fill else f"goes on from here at {arrive}"
        if stop.kind == "end":
            return f"back {arrive}"
        if stop.kind == "break":
            return f"from {arrive} until {leave}"
        if stop.kind == "start":
            return f"load from {arrive}, leave {leave}" if arrive != leave else f"leave {leave}"
        wait_s = (stop.begin - stop.arrive).total_seconds()
        wait = f", wait {duration(wait_s)}, begin {day.clock(stop.begin)}" if wait_s >= 60 else ""
        return f"arrive {arrive}{wait}, leave {leave}"

    def _brief(self, stop: Stop) -> str:
        """``56.0 gal 2:1 sucrose``: what is poured, or taken, by syrup; pails apart."""
        if stop.fill:
            return take_text(self.day.operation, stop).removeprefix("TAKE ")
        poured: dict[str, float] = {}
        for pour in stop.pour:
            poured[pour.syrup_id] = poured.get(pour.syrup_id, 0.0) + pour.volume_l
        units, operation = self.day.units, self.day.operation
        return ", ".join(f"{units.volume(litres)} {syrup_name(operation, s)}" for s, litres in poured.items())

    def _facts(self, stop: Stop) -> Iterator[Fact]:
        day = self.day
        if stop.kind in ("start", "break"):
            return
        if drive := drive_text(day, stop):
            yield Fact("Drive", drive)
        if stop.latest_arrive is not None:
            yield Fact("Latest", f"arrive by {day.clock(stop.latest_arrive)}, {slack_text(stop)}")
        if stop.kind == "yard":
            yield from yard_facts(day, stop)

    def _doing(self, stop: Stop) -> Iterator[str]:
        for pour in stop.pour:
            yield self._pour(pour)
        for fill in in_order(stop.fill):
            yield self._fill(fill)
        if stop.kind == "break":
            yield f"Break of {duration((stop.leave - stop.begin).total_seconds())}"
        if stop.kind == "wash":
            yield "Wash down truck and gear"

    def _pour(self, pour: Pour) -> str:
        operation = self.day.operation
        where = ", ".join(
            (plural(pour.colonies, "colony", "colonies"), pour.group, feeder_name(operation, pour.feeder_id))
        )
        volume = f"{self.day.units.volume(pour.volume_l)} {syrup_name(operation, pour.syrup_id)}"
        if pour.tank_id is None:
            return f"Give {plural(pour.pails, 'full pail')} ({volume}): {where}"
        return f"Pour {volume} from tank {pour.tank_id}: {where}"

    def _fill(self, fill: Fill) -> str:
        volume = f"{self.day.units.volume(fill.volume_l)} {syrup_name(self.day.operation, fill.syrup_id)}"
        if fill.tank_id is None:
            return f"Load {plural(fill.pails, 'full pail')} ({volume})"
        return f"Fill {volume} into tank {fill.tank_id}"

    def _aboard(self, after: Aboard) -> str:
        units = self.day.units
        parts = [f"tank {tank_id} {units.volume(state.volume_l)}" for tank_id, state in after.tanks.items()]
        if after.pails_full or after.pails_empty:
            parts.append(f"pails {after.pails_full} full, {after.pails_empty} empty")
        parts.append(self.day.weighed(after.gross_kg).removesuffix(" allowed"))
        return "; ".join(parts)

    def _notes(self, stop: Stop) -> Iterator[str]:
        yield from self._loading(self.day.calls.get(stop.seq))
        if urgent := urgent_text(self.day.plan, stop.place_id):
            yield urgent
        if stop.kind != "break":
            yield from own_cautions(self.day, stop)

    def _loading(self, call: Call | None) -> Iterator[str]:
        """What to beware of where a trip begins: weak tracks and bridges on it, pails."""
        if call is None:
            return
        if call.limit:
            yield f"Track limit {call.limit.told(self.day.units)}"
        if call.empties_off:
            yield f"{plural(call.empties_off, 'empty pail')} off"
        if call.empties_back:
            yield f"{plural(call.empties_back, 'empty pail')} expected back on this trip"
        yield from call.checks


def slack_text(stop: Stop) -> str:
    """``21 min to spare``; empty where the latest arrival is not known."""
    if stop.latest_arrive is None:
        return ""
    spare_s = (stop.latest_arrive - stop.arrive).total_seconds()
    return f"{duration(spare_s // 60 * 60)} to spare" if spare_s >= 60 else "nothing to spare"


def short(name: str) -> str:
    """A name in one line, cut to what fits beside a mark; the list has all of it."""
    line = " ".join(name.split())
    return line if len(line) <= LONGEST_LABEL else line[: LONGEST_LABEL - 1] + "…"
