"""Every verb of a note, in the order of a day."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import typer

from routing.app.cli.note import changes, keeping, visits
from routing.app.cli.note.event_verb import Made, event_verb

EVENTS: dict[str, Callable[..., Made]] = {
    "started": visits.started,
    "arrived": visits.arrived,
    "left": visits.left,
    "fed": visits.fed,
    "skipped": visits.skipped,
    "refilled": visits.refilled,
    "gauge": visits.gauge,
    "break": visits.rested,
    "washed": visits.washed,
    "finished": visits.finished,
    "out": changes.out,
    "back": changes.back,
    "closed": changes.closed,
    "urgent": changes.urgent,
    "mixed": changes.mixed,
    "received": changes.received,
}
"""Verbs that record one fact each."""

KEEPING: dict[str, Callable[..., None]] = {
    "as-planned": keeping.as_planned,
    "not-driven": keeping.not_driven,
    "withdraw": keeping.withdraw,
    "list": keeping.listed,
    "waiting": keeping.waiting,
    "sheet": keeping.sheet,
    "import": keeping.imported,
}


def commands() -> dict[str, Any]:
    """The commands by name."""
    app = typer.Typer(rich_markup_mode=None)
    app.command("planned")(keeping.planned)
    for name, make in EVENTS.items():
        app.command(name)(event_verb(make))
    for name, command in KEEPING.items():
        app.command(name)(command)
    group: Any = typer.main.get_group(app)
    return dict(group.commands)
