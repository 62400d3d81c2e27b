"""Answer a note: what was recorded, its id, what does not add up since, and where the truck goes next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING

from routing.app.cli.shared.screen import screen
from routing.app.workflow.day_book import DayBook, Noted, all_events
from routing.app.workflow.day_calls import refused_calls
from routing.log.corrections import line_of
from routing.log.events import Event
from routing.log.facts import Planned, Urgent, Withdrawn

if TYPE_CHECKING:
    from routing.reports.words.day import DayWords

AHEAD = timedelta(minutes=30)
"""Clocks of two devices may differ by as much (a choice); what is noted further ahead has not happened."""


def show(book: DayBook, noted: Noted) -> None:
    """Show what was recorded, its id, and what does not add up."""
    from routing.reports.terminal.day import gap_text
    from routing.reports.words.day import DayWords
    from routing.reports.words.format import duration

    event = noted.taken.event
    words = DayWords(book.operation, event.day)
    console = screen()
    label = "Noted" if noted.taken.new else "Noted before, nothing added"
    if noted.taken.new and event.corrects:
        label = f"Noted in place of {event.corrects[:8]}"
    lines = [f"{label}: {event.day} {words.clock(event.at)} {words.event(event)}", f"Id: {event.event_id}"]
    if noted.taken.new and isinstance(event.fact, Withdrawn):
        lines = [*withdrawn(words, line_of(all_events(book.folder)[0], event.event_id)), lines[1]]
    if noted.taken.new and event.at - book.now > AHEAD and not isinstance(event.fact, Planned):
        ahead = duration((event.at - book.now).total_seconds())
        lines.append(f"Look: that is {ahead} ahead of this device's clock: is the date or time wrong?")
    lines += [f"Look: {gap_text(words, gap)}" for gap in noted.gaps]
    if noted.taken.new and isinstance(event.fact, Urgent):
        yard_id = event.fact.yard_id
        if why := refused_calls(book.operation, noted.state).get(yard_id):
            lines.append(f"Look: {words.place(f'yard:{yard_id}')} may not be fed today: {why}")
    truck = noted.state.trucks.get(event.truck_id)
    if noted.taken.new and truck is not None and truck.heading and truck.underway:
        here = truck.heading == truck.place
        lines.append(f"Next: {'a break' if here else words.place(truck.heading)}")
    for line in lines:
        console.print(line, markup=False, soft_wrap=True)


def withdrawn(words: DayWords, line: Sequence[Event]) -> list[str]:
    """What is gone: the note that held, and those it stood in place of; none of them holds again."""
    *before, _ = line
    lines = []
    for number, event in enumerate(reversed(before)):
        text = "withdrawn" if isinstance(event.fact, Withdrawn) else words.event(event)
        label = "And what it replaced" if number else "Withdrawn"
        lines.append(f"{label}: {event.day} {words.clock(event.at)} {text} ({event.event_id[:8]})")
    return [*lines, "These notes are now ignored. To restore one, note it again."]
