"""The rest of `feedround note`: breaks, washing, trucks and places that fail, supplies, and looking back."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from routing.app.cli import note_facts as facts
from routing.app.cli.note import (
    At,
    Corrects,
    DepotId,
    Id,
    Lot,
    TruckId,
    Until,
    Words,
    Words_,
    YardId,
    app,
    as_typed,
    take,
)
from routing.app.cli.note_answer import show
from routing.app.workflow.day_book import all_events, note
from routing.log.facts import Withdrawn

__all__ = ["app"]

SyrupId = Annotated[str, typer.Argument(metavar="SYRUP", help="Syrup id.")]
Amount = Annotated[str, typer.Argument(metavar="AMOUNT", help="As 300gal.")]
TruckName = Annotated[str, typer.Argument(metavar="TRUCK", help="Truck id.")]


@app.command("break")
def rested(
    ctx: typer.Context,
    length: Annotated[str, typer.Argument(metavar="MINUTES", help="How long it was, as 30.")],
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A break; note it when it is over."""
    take(ctx, lambda known: facts.rested(known, truck, length), at, event_id, corrects)


@app.command()
def washed(
    ctx: typer.Context,
    depot: Annotated[
        str, typer.Argument(metavar="[DEPOT]", help="Depot id or name; else where it stands.")
    ] = "",
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """Truck and gear were washed down."""
    take(ctx, lambda known: facts.washed(known, truck, depot), at, event_id, corrects)


@app.command()
def finished(
    ctx: typer.Context,
    depot: Annotated[str, typer.Argument(metavar="[DEPOT]", help="Depot id or name; else its own.")] = "",
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck is home and its day is over."""
    take(ctx, lambda known: facts.finished(known, truck, depot), at, event_id, corrects)


@app.command()
def out(
    ctx: typer.Context,
    truck: TruckName,
    why: Words_ = None,
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck cannot go on."""
    words = " ".join(why or ())
    take(ctx, lambda known: facts.out(known.operation, truck, words), at, event_id, corrects)


@app.command()
def back(
    ctx: typer.Context,
    truck: TruckName,
    why: Words_ = None,
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck can be used again, or joins."""
    words = " ".join(why or ())
    take(ctx, lambda known: facts.back(known.operation, truck, words), at, event_id, corrects)


@app.command()
def closed(
    ctx: typer.Context,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Yard or depot.")],
    why: Words_ = None,
    until: Until = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A depot or a yard cannot be used."""
    book = ctx.obj.book()
    fact = facts.closed(book, place, " ".join(why or ()), until)
    show(
        book, note(book, lambda known: fact, at=at, event_id=event_id, corrects=corrects, said=as_typed(ctx))
    )


@app.command()
def urgent(
    ctx: typer.Context,
    yard: YardId,
    amount: Annotated[
        str, typer.Argument(metavar="[AMOUNT]", help="20gal in all, or 10x1gal; else by its need.")
    ] = "",
    words: Words = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A yard must be fed today, planned or not."""
    take(ctx, lambda known: facts.urgent(known.operation, yard, amount, words), at, event_id, corrects)


@app.command()
def mixed(
    ctx: typer.Context,
    depot: DepotId,
    syrup: SyrupId,
    amount: Amount,
    lot: Lot = "",
    words: Words = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """Syrup was mixed at a depot; say from what with --words."""
    take(
        ctx,
        lambda known: facts.supplied(known.operation, depot, syrup, amount, lot, None, words),
        at,
        event_id,
        corrects,
    )


@app.command()
def received(
    ctx: typer.Context,
    depot: DepotId,
    syrup: SyrupId,
    amount: Amount,
    lot: Lot = "",
    supplier: Annotated[str, typer.Option("--from", help="Who delivered it.")] = "",
    words: Words = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """Syrup was delivered to a depot."""
    take(
        ctx,
        lambda known: facts.supplied(known.operation, depot, syrup, amount, lot, supplier, words),
        at,
        event_id,
        corrects,
    )


@app.command()
def withdraw(
    ctx: typer.Context,
    event: Annotated[str, typer.Argument(metavar="ID", help="Id (or its beginning) of the note.")],
    why: Words_ = None,
    event_id: Id = "",
) -> None:
    """Take a note back: it stays in the log, and counts no more."""
    book = ctx.obj.book()
    fact = Withdrawn(" ".join(why or ()))
    show(book, note(book, lambda known: ("", fact), event_id=event_id, corrects=event, said=as_typed(ctx)))


@app.command("list")
def listed(
    ctx: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON instead of lines.")] = False,
) -> None:
    """Everything noted for the day, with ids."""
    from routing.log.corrections import replaced_by
    from routing.reports.terminal.day import event_list

    book = ctx.obj.book()
    events, _ = all_events(book.folder, book.day, book.day)
    replaced = replaced_by(events)
    if as_json:
        rows = [asdict(e) | {"kind": e.kind, "replaced_by": replaced.get(e.event_id)} for e in events]
        typer.echo(json.dumps(rows, indent=2, ensure_ascii=False, default=str))
        return
    event_list(book.operation, events, replaced, Console(highlight=False))


@app.command()
def waiting(ctx: typer.Context) -> None:
    """Take in the notes that were kept while files were damaged."""
    from routing.app.cli.note_waiting import take_waiting

    for line in take_waiting(typer.main.get_command(app), ctx.obj.folder):
        typer.echo(line)


@app.command("sheet")
def sheet(
    ctx: typer.Context,
    out: Annotated[Path, typer.Option("--out", help="Where to write it.")] = Path("run_sheet.csv"),
) -> None:
    """Write the plan's stops as a table to fill in and import."""
    from routing.app.workflow.note_sheet import write_sheet

    typer.echo(write_sheet(ctx.obj.book(), out))


@app.command("import")
def imported(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(help="A filled-in run sheet, as `note FOLDER sheet` writes it.")],
) -> None:
    """Take in a filled-in run sheet, once or again."""
    from routing.app.workflow.note_sheet import import_sheet

    for line in import_sheet(ctx.obj.book(), file):
        typer.echo(line)
