"""Keep the day log: facts that are added and never changed, in a SQLite file of the operation folder."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType

from routing.domain.plan import Plan
from routing.files.log.database import log_path, open_file, refused
from routing.files.log.rows import COLUMNS, FIRST, DayLogError, event_of, plan_seal, row_of, seal
from routing.files.plan.plan_json import dump_plan, load_plan
from routing.log.events import Event
from routing.log.facts import Planned

__all__ = ["DayLog", "Taken", "log_path", "read_log"]


@dataclass(frozen=True)
class Taken:
    """An event as the log holds it. ``new`` False: it was there already, and nothing was written."""

    event: Event
    new: bool


def _utc_now() -> datetime:
    return datetime.now(UTC)


class DayLog:
    """An open day log. Use as a context manager; the file is made when there is none.

    What ``add`` returns is on the disk. Raises DayLogDamaged for a damaged file, which stays as it is,
    and DayLogError for one that cannot be used.
    """

    def __init__(self, path: Path, clock: Callable[[], datetime] = _utc_now) -> None:
        self.path = Path(path)
        self._clock = clock
        self._connection = open_file(self.path)
        self._writing = False

    def __enter__(self) -> DayLog:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the log alone: what is read inside is still so when the events are added, all or none."""
        if self._writing:
            yield
            return
        try:
            self._connection.execute("BEGIN IMMEDIATE")
        except sqlite3.Error as error:
            raise refused(self.path, error) from error
        self._writing = True
        try:
            yield
            self._connection.execute("COMMIT")
        except sqlite3.Error as error:
            self._roll_back()
            raise refused(self.path, error) from error
        except BaseException:
            self._roll_back()
            raise
        finally:
            self._writing = False

    def _roll_back(self) -> None:
        if self._connection.in_transaction:
            self._connection.execute("ROLLBACK")

    def add(self, event: Event) -> Taken:
        """Add one event. The same event again is no second one.

        An id that is taken by an event with the same content (its time aside: a retry comes later) is a
        retry. Raises DayLogError when the id is taken by something else, or
        when the event corrects one that is not there.
        """
        return self.add_all((event,))[0]

    def add_all(self, events: Sequence[Event]) -> tuple[Taken, ...]:
        """Add several events, all or none."""
        with self.writing():
            return tuple(self._add(event) for event in events)

    def _add(self, event: Event) -> Taken:
        before = self.event(event.event_id)
        if before is not None:
            if _same(before, event):
                return Taken(before, new=False)
            raise DayLogError(
                f"the id {event.event_id} is taken by another event ({before.kind} at "
                f"{before.at:%Y-%m-%d %H:%M}): give this one an id of its own"
            )
        if event.corrects and self.event(event.corrects) is None:
            raise DayLogError(f"there is no event {event.corrects} to correct")
        last = self._connection.execute("SELECT digest FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        recorded = self._clock()
        cells = row_of(event, recorded)
        marks = ", ".join("?" * (len(COLUMNS) + 1))
        written = self._connection.execute(
            f"INSERT INTO events ({', '.join(COLUMNS)}, digest) VALUES ({marks})",
            (*cells, seal(last[0] if last else FIRST, cells)),
        )
        assert written.lastrowid is not None
        return Taken(replace(event, recorded=recorded, seq=written.lastrowid), new=True)

    def event(self, event_id: str) -> Event | None:
        """The event of an id, as recorded, or None."""
        found = self._events("event_id = ?", (event_id,))
        return found[0] if found else None

    def find(self, prefix: str) -> Event:
        """The one event whose id begins so. Raises DayLogError when none or several do."""
        low = prefix.strip().lower()
        exact = self.event(prefix.strip())
        found = [exact] if exact else self._events("substr(lower(event_id), 1, ?) = ?", (len(low), low))
        if not low or len(found) != 1:
            what = "no event has" if not found else f"{len(found)} events have"
            raise DayLogError(f"{what} an id that begins with {prefix!r}: `note FOLDER list` shows the ids")
        return found[0]

    def events(self, first: date | None = None, last: date | None = None) -> tuple[Event, ...]:
        """All events of the feeding dates from ``first`` to ``last`` (both in), in the order recorded."""
        low, high = (first or date.min).isoformat(), (last or date.max).isoformat()
        return tuple(self._events("day BETWEEN ? AND ?", (low, high)))

    def _events(self, where: str, values: tuple[object, ...]) -> list[Event]:
        sql = f"SELECT seq, {', '.join(COLUMNS)} FROM events WHERE {where} ORDER BY seq"
        try:
            rows = self._connection.execute(sql, values).fetchall()
        except sqlite3.Error as error:
            raise refused(self.path, error) from error
        return [event_of(seq, cells) for seq, *cells in rows]

    def keep_plan(self, plan: Plan) -> None:
        """Keep the text of a plan beside the events that name it. The same plan again is no second one."""
        text = dump_plan(plan)
        with self.writing():
            found = self._plan_text(plan.plan_id)
            if found == text:
                return
            if found is not None:
                raise DayLogError(f"the log holds another plan under the id {plan.plan_id}: plan again")
            self._connection.execute(
                "INSERT INTO plans (plan_id, recorded, text, digest) VALUES (?, ?, ?, ?)",
                (plan.plan_id, self._clock().isoformat(), text, plan_seal(plan.plan_id, text)),
            )

    def plan(self, plan_id: str) -> Plan | None:
        """A kept plan, or None."""
        text = self._plan_text(plan_id)
        return None if text is None else load_plan(text)

    def plans_of(self, events: Sequence[Event]) -> dict[str, Plan]:
        """The plans that events name, by id; those the log does not hold are left out."""
        names = dict.fromkeys(e.fact.plan_id for e in events if isinstance(e.fact, Planned))
        found = {name: self.plan(name) for name in names}
        return {name: plan for name, plan in found.items() if plan is not None}

    def _plan_text(self, plan_id: str) -> str | None:
        try:
            row = self._connection.execute("SELECT text FROM plans WHERE plan_id = ?", (plan_id,)).fetchone()
        except sqlite3.Error as error:
            raise refused(self.path, error) from error
        return None if row is None else str(row[0])


def _same(before: Event, again: Event) -> bool:
    content = [(e.day, e.kind, e.truck_id, e.corrects, e.fact) for e in (before, again)]
    return content[0] == content[1]


def read_log(folder: Path) -> DayLog | None:
    """The log of an operation for reading, or None when nothing was ever noted."""
    path = log_path(folder)
    return DayLog(path) if path.exists() else None
