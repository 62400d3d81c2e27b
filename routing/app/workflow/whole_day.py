"""Note a whole day at once: driven as planned, or not driven."""

from __future__ import annotations

from dataclasses import dataclass

from routing.app.workflow.day_book import DayBook, known_at, last_moment
from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.files.log.log import DayLog
from routing.log.complete.as_planned import driven_as_planned, never_driven
from routing.log.complete.complete import Known
from routing.log.corrections import in_force
from routing.log.events import Event


@dataclass(frozen=True)
class Settled:
    """What was noted for each truck, in order."""

    operation: Operation
    noted: tuple[Event, ...]


def take_as_planned(book: DayBook, truck_id: str = "") -> Settled:
    """Note every stop that nobody reported as driven by the plan: of one truck, else of all.

    Raises FeedroundError where nothing is left to note.
    """
    with DayLog(book.path) as log, log.writing():
        known = _known(book, log)
        trucks = [truck_id] if truck_id else list(known.state.trucks)
        events = [event for truck in trucks for event in driven_as_planned(known, truck)]
        if not events:
            raise FeedroundError(f"{book.day}: every planned stop is noted already, or its truck is out")
        log.add_all(sorted(events, key=lambda event: event.at))
    return Settled(known.operation, tuple(events))


def take_not_driven(book: DayBook, truck_id: str = "") -> Settled:
    """Note that trucks with a route stayed at home: one, else all of which nothing was noted.

    Raises FeedroundError where none is left, or where a truck has notes.
    """
    with DayLog(book.path) as log, log.writing():
        known = _known(book, log)
        heard = {event.truck_id for event in in_force(log.events(book.day, book.day))}
        plan = known.plans[known.state.plan_ids[-1]]
        silent = [route.truck_id for route in plan.routes if route.truck_id not in heard]
        if truck_id and truck_id not in silent:
            why = "has notes on that day" if truck_id in heard else "has no route on that day"
            raise FeedroundError(f"{book.day}: {truck_id} {why}: withdraw them, or note what it did")
        if not silent:
            raise FeedroundError(f"{book.day}: every truck of the plan has notes: note what it did not do")
        events = tuple(never_driven(plan, one) for one in ([truck_id] if truck_id else silent))
        log.add_all(events)
    return Settled(known.operation, events)


def _known(book: DayBook, log: DayLog) -> Known:
    known = known_at(book, log, last_moment(book, log))
    if not known.state.plan_ids:
        raise FeedroundError(f"no plan is noted for {book.day}: `note FOLDER planned PLAN.json` first")
    return known
