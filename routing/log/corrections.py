"""Read a log with its corrections: which event holds in place of which."""

from __future__ import annotations

from collections.abc import Iterable

from routing.log.events import Event
from routing.log.facts import Waiting, Withdrawn


def in_force(events: Iterable[Event]) -> tuple[Event, ...]:
    """The events that hold after all corrections, by the time they were so, then in the order recorded.

    A correction stands where the event it corrects stood; of several corrections of one event the last
    recorded holds, and a correction can be corrected like any event. What was withdrawn is left out, and
    so is a correction of an event that is not there.
    """
    holds: dict[str, Event] = {}
    first: dict[str, str] = {}
    for event in sorted(events, key=lambda e: (e.seq, e.event_id)):
        root = event.event_id
        if event.corrects:
            if event.corrects not in first:
                continue
            root = first[event.corrects]
        first[event.event_id] = root
        holds[root] = event
    order = {root: number for number, root in enumerate(holds)}
    kept = [(root, event) for root, event in holds.items() if not isinstance(event.fact, Withdrawn)]
    return tuple(event for root, event in sorted(kept, key=lambda pair: (pair[1].at, order[pair[0]])))


def line_of(events: Iterable[Event], event_id: str) -> tuple[Event, ...]:
    """All events that stood in one place, in the order recorded: the first, its corrections, withdrawals."""
    first: dict[str, str] = {}
    listed = sorted(events, key=lambda e: (e.seq, e.event_id))
    for event in listed:
        root = first.get(event.corrects, "") if event.corrects else event.event_id
        if root:
            first[event.event_id] = root
    root = first.get(event_id, event_id)
    return tuple(event for event in listed if first.get(event.event_id) == root)


def replaced_by(events: Iterable[Event]) -> dict[str, str]:
    """For each event that no longer holds, the id of the one that holds in its place (or withdrew it)."""
    listed = sorted(events, key=lambda e: (e.seq, e.event_id))
    first: dict[str, str] = {}
    last: dict[str, str] = {}
    for event in listed:
        root = first.get(event.corrects, "") if event.corrects else event.event_id
        if root:
            first[event.event_id] = root
            last[root] = event.event_id
    return {name: last[root] for name, root in first.items() if last[root] != name}


def still_waiting(events: Iterable[Event]) -> tuple[Event, ...]:
    """The notes that wait for the files to be mended: not taken in since, corrected or withdrawn."""
    listed = tuple(events)
    known = {event.event_id for event in listed}
    return tuple(
        event
        for event in in_force(listed)
        if isinstance(event.fact, Waiting) and event.fact.note_id not in known
    )
