"""Keep the log: the plan that is driven, notes withdrawn or waiting, and the run sheet as a table."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.app.cli.note.answer import show
from routing.app.cli.note.event_verb import as_typed, book_of, plan_book_of
from routing.app.cli.note.options import At, Id, TruckId, Why
from routing.app.cli.note.reading import truck_id_of
from routing.app.cli.shared.screen import screen
from routing.app.workflow.day_book import all_events, note, register_plan
from routing.log.corrections import replaced_by
from routing.log.facts import Withdrawn

if TYPE_CHECKING:
    from routing.app.workflow.whole_day import Settled


def planned(
    ctx: typer.Context,
    plan: Annotated[Path, typer.Argument(help="The plan.json that the crews follow.")],
    rest: Annotated[bool, typer.Option("--rest", help="Apply from now on only.")] = False,
    at: At = "",
    event_id: Id = "",
) -> None:
    """Record the plan that the crews follow.

    Example: feedround note my-bees planned maps/monday/plan.json
    """
    book = plan_book_of(ctx)
    show(book, register_plan(book, plan, rest=rest, at=at, event_id=event_id, said=as_typed(ctx)))


def as_planned(ctx: typer.Context, truck: TruckId = "") -> None:
    """Note the rest of the day as planned; exceptions stand.

    Example: feedround note my-bees --date 2026-09-28 as-planned
    """
    from routing.app.workflow.whole_day import take_as_planned

    book = book_of(ctx)
    _say_settled(take_as_planned(book, truck_id_of(book.operation, truck)))


def not_driven(ctx: typer.Context, truck: TruckId = "") -> None:
    """The trucks of the plan stayed at home that day.

    Example: feedround note my-bees --date 2026-09-28 not-driven
    """
    from routing.app.workflow.whole_day import take_not_driven

    book = book_of(ctx)
    _say_settled(take_not_driven(book, truck_id_of(book.operation, truck)))


def _say_settled(settled: Settled) -> None:
    """A line for each thing that was noted."""
    from routing.reports.words.day import DayWords

    for event in settled.noted:
        words = DayWords(settled.operation, event.day)
        typer.echo(f"Noted: {event.day} {words.clock(event.at)} {words.event(event)}")


def withdraw(
    ctx: typer.Context,
    event: Annotated[str, typer.Argument(metavar="ID", help="Id of the note, or the start of it.")],
    why: Why = None,
    event_id: Id = "",
) -> None:
    """Withdraw a note; it stays in the log but is ignored.

    Example: feedround note my-bees withdraw 3f9a1c20 wrong yard
    """
    book = book_of(ctx)
    fact = Withdrawn(" ".join(why or ()))
    show(book, note(book, lambda known: ("", fact), event_id=event_id, corrects=event, said=as_typed(ctx)))


def listed(
    ctx: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")] = False,
) -> None:
    """List the notes of the day, with ids.

    Example: feedround note my-bees list
    """
    from routing.reports.terminal.day import event_list

    book = book_of(ctx)
    events, _ = all_events(book.folder, book.day, book.day)
    replaced = replaced_by(events)
    if as_json:
        rows = [asdict(e) | {"kind": e.kind, "replaced_by": replaced.get(e.event_id)} for e in events]
        typer.echo(json.dumps(rows, indent=2, ensure_ascii=False, default=str))
        return
    event_list(book.operation, events, replaced, screen())


def waiting(ctx: typer.Context) -> None:
    """Take in the notes that were kept while files were damaged.

    Example: feedround note my-bees waiting
    """
    from routing.app.cli.note.waiting import take_waiting

    group = ctx.parent.command if ctx.parent else ctx.command
    for line in take_waiting(group, ctx.obj.folder):
        typer.echo(line)


def sheet(
    ctx: typer.Context,
    out: Annotated[Path, typer.Option("--out", help="File to write.")] = Path("run_sheet.csv"),
) -> None:
    """Write the stops of the plan as a table to fill in and import.

    Example: feedround note my-bees sheet --out monday.csv
    """
    from routing.app.workflow.note_sheet import write_sheet

    typer.echo(write_sheet(book_of(ctx), out))


def imported(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(help="A filled-in sheet from `note FOLDER sheet`.")],
) -> None:
    """Import a filled-in sheet; importing it again adds nothing.

    Example: feedround note my-bees import monday.csv
    """
    from routing.app.workflow.note_sheet import import_sheet

    for line in import_sheet(book_of(ctx), file):
        typer.echo(line)
