"""Say an event of the day log in one line, in the operation's units."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date, datetime
from typing import Any

from routing.domain.operation import Operation
from routing.log.events import Event
from routing.log.facts import (
    Arrived,
    DepotClosed,
    Fed,
    Filled,
    Finished,
    Gauged,
    Left,
    Meter,
    Mixed,
    Planned,
    Poured,
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
from routing.reports.words.format import Units, duration, hhmm, plural
from routing.reports.words.names import depot_name, joined, yard_name
from routing.reports.words.text import one_line


class DayWords:
    """The words for one operation's events; times on another date than ``day`` say so."""

    def __init__(self, operation: Operation, day: date | None = None) -> None:
        self.operation = operation
        self.day = day
        self.units = Units(operation.units, operation.currency)

    def event(self, event: Event) -> str:
        """What an event says, without its time and id."""
        text = _SAYINGS[type(event.fact)](self, event.fact)
        return one_line(f"{event.truck_id} {text}" if event.truck_id else text)

    def place(self, key: str | None) -> str:
        """``Shelterbelt (Y01)`` for a place key."""
        if not key:
            return "an unknown place"
        kind, _, place_id = key.partition(":")
        name = (yard_name if kind == "yard" else depot_name)(self.operation, place_id)
        return name if name == place_id else f"{name} ({place_id})"

    def clock(self, moment: datetime) -> str:
        """Local ``HH:MM``, with ``(+1 day)`` after midnight."""
        return hhmm(moment, self.operation.timezone, self.day)

    def _yard(self, yard_id: str) -> str:
        return self.place(f"yard:{yard_id}")

    def _depot(self, depot_id: str) -> str:
        return self.place(f"depot:{depot_id}")

    def _until(self, until: datetime | None, words: str, never: str) -> str:
        return _with(f"until {self.clock(until)}" if until else never, words)

    def _pours(self, yard_id: str, rows: Iterable[Poured]) -> str:
        return "; ".join(self._pour(yard_id, row) for row in rows) or "nothing poured"

    def _fed_of(self, yard_id: str, row: Poured) -> str:
        """``weak 9 of 10 colonies``; a yard that is all one group needs no name for it."""
        standing: Counter[str] = Counter()
        for group in self.operation.groups_of(yard_id):
            standing[group.group] += group.colonies
        name = "" if list(standing) == [row.group] else row.group
        all_of = standing[row.group]
        of = f" of {all_of}" if all_of > row.colonies else ""
        few = all_of if of else row.colonies
        return joined((name, f"{row.colonies}{of} {'colony' if few == 1 else 'colonies'}"), " ")

    def _pour(self, yard_id: str, row: Poured) -> str:
        source = f"from {row.tank_id}" if row.tank_id else f"in {plural(row.pails, 'pail')}"
        found = [f"{row.alive} alive" if row.alive is not None else ""]
        found.append(f"{row.light} light" if row.light is not None else "")
        found.append(f"lot {row.lot}" if row.lot else "")
        amount = f"{self.units.volume(row.volume_l)} {row.syrup_id} {source}"
        return joined((self._fed_of(yard_id, row), amount, *found), ", ")

    def _fills(self, rows: Iterable[Filled]) -> str:
        return "; ".join(self._fill(row) for row in rows) or "nothing"

    def _fill(self, row: Filled) -> str:
        into = f"into {row.tank_id}" if row.tank_id else f"in {plural(row.pails, 'pail')}"
        lot = f", lot {row.lot}" if row.lot else ""
        return f"{self.units.volume(row.volume_l)} {row.syrup_id} {into}{lot}"

    def _meter(self, meter: Meter | None) -> str:
        return f", meter {self.units.volume(meter.volume_l)}" if meter else ""

    def planned(self, fact: Planned) -> str:
        """A plan came into force."""
        return f"plan {fact.plan_id} is in force" + (" for the rest of the day" if fact.rest else "")

    def started(self, fact: Started) -> str:
        """A truck started."""
        told = " as planned" if fact.as_planned else ""
        return f"started from {self._depot(fact.depot_id)} with{told} {self._fills(fact.fills)}"

    def fed(self, fact: Fed) -> str:
        """A yard was fed."""
        told = " as planned" if fact.as_planned else ""
        end = ", nothing more due there" if fact.finished else ""
        pours = self._pours(fact.yard_id, fact.pours)
        text = f"fed {self._yard(fact.yard_id)}{told}: {pours}{self._meter(fact.meter)}{end}"
        return _with(text, fact.words)

    def skipped(self, fact: Skipped) -> str:
        """A yard was skipped."""
        reason = fact.reason.value.replace("_", " ")
        back = f", back from {self.clock(fact.until)}" if fact.until else ""
        return _with(f"skipped {self._yard(fact.yard_id)}: {reason}{back}", fact.words)

    def refilled(self, fact: Refilled) -> str:
        """A truck was refilled."""
        told = " as planned" if fact.as_planned else ""
        text = f"refilled at {self._depot(fact.depot_id)}{told}: {self._fills(fact.fills)}"
        return _with(f"{text}{self._meter(fact.meter)}", fact.words)

    def supply(self, fact: Mixed | Received) -> str:
        """Syrup came to a depot."""
        what = "mixed" if isinstance(fact, Mixed) else "received"
        lot = f", lot {fact.lot}" if fact.lot else ""
        supplier = f" from {fact.supplier}" if isinstance(fact, Received) and fact.supplier else ""
        amount = f"{self.units.volume(fact.volume_l)} {fact.syrup_id}"
        return _with(f"{self._depot(fact.depot_id)} {what} {amount}{supplier}{lot}", fact.words)

    def urgent(self, fact: Urgent) -> str:
        """A yard must be fed."""
        colonies = f", {plural(fact.colonies, 'colony', 'colonies')}" if fact.colonies else ""
        each = f", {self.units.volume_each(fact.each_l)} each" if fact.each_l else ""
        total = f", {self.units.volume(fact.total_l)} in all" if fact.total_l else ""
        return _with(f"{self._yard(fact.yard_id)} must be fed today{colonies}{each}{total}", fact.words)

    def gauged(self, fact: Gauged) -> str:
        """A gauge was read."""
        return f"gauge of {fact.tank_id} shows {self.units.volume(fact.volume_l)}"

    def closed(self, fact: DepotClosed | YardClosed) -> str:
        """A place closed."""
        depot = isinstance(fact, DepotClosed)
        place = self._depot(fact.depot_id) if isinstance(fact, DepotClosed) else self._yard(fact.yard_id)
        never = "for the rest of the day" if depot else "today no more"
        return f"{place} is closed {self._until(fact.until, fact.words, never)}"


def _with(text: str, words: str) -> str:
    return f"{text} ({words})" if words else text


_SAYINGS: dict[type, Callable[[DayWords, Any], str]] = {
    Planned: DayWords.planned,
    Started: DayWords.started,
    Arrived: lambda words, fact: f"arrived at {words.place(fact.place)}",
    Left: lambda words, fact: "left" + (f" for {words.place(fact.to)}" if fact.to else ""),
    Fed: DayWords.fed,
    Skipped: DayWords.skipped,
    Refilled: DayWords.refilled,
    Gauged: DayWords.gauged,
    Mixed: DayWords.supply,
    Received: DayWords.supply,
    Washed: lambda words, fact: f"washed down at {words.place('depot:' + fact.depot_id)}",
    Rested: lambda words, fact: f"took a break of {duration(fact.seconds)}",
    TruckOut: lambda words, fact: _with("is out of action", fact.words),
    TruckBack: lambda words, fact: _with("can be used", fact.words),
    DepotClosed: DayWords.closed,
    YardClosed: DayWords.closed,
    Urgent: DayWords.urgent,
    Finished: lambda words, fact: f"is home at {words.place('depot:' + fact.depot_id)}",
    Withdrawn: lambda words, fact: _with("withdrawn", fact.words),
    Waiting: lambda words, fact: f"as typed, not taken in yet: {' '.join(fact.words)}",
}
