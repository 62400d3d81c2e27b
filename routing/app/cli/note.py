"""The command `feedround note`: a verb for everything that happens on a feeding day."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Annotated, Any

import typer
import typer.core

from routing.app.cli import note_facts as facts
from routing.app.cli.moments import a_day
from routing.app.cli.note_answer import show
from routing.app.cli.note_waiting import kept
from routing.app.workflow.day_book import Build, DayBook, note, open_any, open_day, register_plan
from routing.domain.errors import FeedroundError, InputError
from routing.files.log.rows import DayLogDamaged

_NEGATIVE = re.compile(r"-\.?\d")


class NoteGroup(typer.core.TyperGroup):
    """Lets ``--date`` stand anywhere in a note, and keeps notes that damaged files would lose."""

    def invoke(self, ctx: Any) -> Any:
        """Run a verb; where files are damaged, keep the note as typed and say so."""
        try:
            return super().invoke(ctx)
        except (InputError, DayLogDamaged) as error:
            words = ctx.obj.words if isinstance(ctx.obj, Context) else ()
            if words and (said := kept(ctx.obj.folder, ctx.invoked_subcommand or "", words)):
                raise FeedroundError(f"{error}\n{said}") from error
            raise

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Bring the date to the front, where the command line looks for it."""
        end = args.index("--") if "--" in args else len(args)
        dates: list[str] = []
        rest: list[str] = []
        words = iter(args[:end])
        if below := _below_nothing(args[:end]):
            raise typer.BadParameter(f"{below} is below nothing: amounts are from 0 up, as 12gal or 10x1gal")
        for word in words:
            if word in ("--date", "-d"):
                dates += [word, *list(islice(words, 1))]
            elif word.startswith("--date="):
                dates.append(word)
            else:
                rest.append(word)
        ctx.meta["note"] = tuple(args)
        return super().parse_args(ctx, [*dates, *rest, *args[end:]])


def _below_nothing(args: list[str]) -> str:
    """The first word that is a number below zero, which would be taken for an option."""
    said = zip(["", *args], args, strict=False)
    return next((w for before, w in said if before not in ("--words", "-w") and _NEGATIVE.match(w)), "")


app = typer.Typer(
    name="note",
    cls=NoteGroup,
    help="Add to the day log: what happened, as it happens. Nothing noted is ever changed.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)

TruckId = Annotated[str, typer.Option("--truck", "-t", envvar="FEEDROUND_TRUCK", help="Which truck.")]
At = Annotated[str, typer.Option("--at", "-a", help="When it was so, HH:MM; else now.")]
Id = Annotated[str, typer.Option("--id", help="For programs: a UUID; the same one again adds nothing.")]
Corrects = Annotated[
    str,
    typer.Option(
        "--corrects", "-c", help="This takes the place of the note with this id (or its beginning)."
    ),
]
Words = Annotated[str, typer.Option("--words", "-w", help="Anything to add in words.")]
Lot = Annotated[str, typer.Option("--lot", help="Lot of the syrup.")]
MeterText = Annotated[str, typer.Option("--meter", "-m", help="Meter before and after, as 1200-1280.")]
Until = Annotated[str, typer.Option("--until", "-u", help="Until when, HH:MM; else the rest of the day.")]
Amounts = Annotated[
    list[str] | None,
    typer.Argument(help="80gal in all; 38/80gal into 38 colonies; 40x2gal; weak=10/12gal by group."),
]
Loads = Annotated[
    list[str] | None, typer.Argument(help="Tank by tank: front=300gal rear=full pails=12x2gal.")
]
Alive = Annotated[list[str] | None, typer.Option(help="Colonies found alive: 38, or by group weak=9.")]
Light = Annotated[list[str] | None, typer.Option(help="Colonies found light: 6, or by group weak=4.")]
YardId = Annotated[str, typer.Argument(metavar="YARD", help="Yard id or name.")]
DepotId = Annotated[str, typer.Argument(metavar="DEPOT", help="Depot id or name.")]
Words_ = Annotated[list[str] | None, typer.Argument(help="Why, in words.")]


@dataclass(frozen=True)
class Context:
    """What stands before the verb."""

    folder: Path
    day: datetime | None
    words: tuple[str, ...] = ()

    def book(self) -> DayBook:
        """The book of the day."""
        return open_day(self.folder, self.day.date() if self.day else None)

    def plan_book(self) -> DayBook:
        """The book to note a plan in: of the date that was said, or of any."""
        return open_any(self.folder, self.day.date() if self.day else None)


@app.callback()
def main(
    ctx: typer.Context,
    folder: Annotated[Path, typer.Argument(help="Operation folder, or its .xlsx workbook.")],
    day: Annotated[
        datetime | None,
        typer.Option(
            "--date", "-d", parser=a_day, metavar="DATE", help="Feeding date; else the day going on."
        ),
    ] = None,
) -> None:
    """Add to the day log: what happened, as it happens. Nothing noted is ever changed."""
    typed = list(ctx.meta.get("note", ()))
    if str(folder) in typed:
        typed.remove(str(folder))
    ctx.obj = Context(folder, day, tuple(typed))


def take(ctx: typer.Context, build: Build, at: str, event_id: str, corrects: str) -> None:
    """Record one note and say so."""
    book = ctx.obj.book()
    show(book, note(book, build, at=at, event_id=event_id, corrects=corrects, said=as_typed(ctx)))


def as_typed(ctx: typer.Context) -> str:
    """The note as typed, in one spelling whatever the order of its options; its own id aside."""
    words = [ctx.info_name or ""]
    for param in ctx.command.params:
        value: Any = ctx.params.get(param.name or "")
        if param.name == "event_id" or value in (None, "", False, [], ()):
            continue
        if param.param_type_name == "option":
            words.append(f"--{(param.name or '').replace('_', '-')}")
        if value is not True:
            words += [str(one) for one in (value if isinstance(value, (list, tuple)) else [value])]
    return shlex.join(words)


@app.command()
def planned(
    ctx: typer.Context,
    plan: Annotated[Path, typer.Argument(help="The plan.json the crews drive by.")],
    rest: Annotated[
        bool, typer.Option("--rest", help="It holds only for the rest of the day, from now on.")
    ] = False,
    at: At = "",
    event_id: Id = "",
) -> None:
    """The plan the crews drive by: it is kept in the log."""
    book = ctx.obj.plan_book()
    show(book, register_plan(book, plan, rest=rest, at=at, event_id=event_id, said=as_typed(ctx)))


@app.command()
def started(
    ctx: typer.Context,
    truck: Annotated[str, typer.Argument(metavar="TRUCK", help="Truck id.")],
    loads: Loads = None,
    lot: Lot = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck left its depot; with what, if not as planned."""
    book = ctx.obj.book()
    build = facts.started(book.operation, truck, loads or [], lot)
    show(book, note(book, build, at=at, event_id=event_id, corrects=corrects, said=as_typed(ctx)))


@app.command()
def arrived(
    ctx: typer.Context,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Yard or depot, id or name.")],
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck reached a yard or depot."""
    take(ctx, lambda known: facts.arrived(known, truck, place), at, event_id, corrects)


@app.command()
def left(
    ctx: typer.Context,
    to: Annotated[str, typer.Argument(metavar="[PLACE]", help="Where it goes.")] = "",
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck left where it was; only needed where it stayed on."""
    take(ctx, lambda known: facts.left(known, truck, to), at, event_id, corrects)


@app.command()
def fed(
    ctx: typer.Context,
    yard: YardId,
    amounts: Amounts = None,
    truck: TruckId = "",
    tank: Annotated[str, typer.Option("--tank", help="From which tank, if not the planned one.")] = "",
    lot: Lot = "",
    meter: MeterText = "",
    alive: Alive = None,
    light: Light = None,
    done: Annotated[bool, typer.Option("--done", help="Nothing more is due there today.")] = False,
    words: Words = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A yard was fed, as planned when no amount is said.

    Note it when the crew is done there.
    """
    visit = facts.Visit(yard, tuple(amounts or ()), tank, lot, meter, tuple(alive or ()), tuple(light or ()))
    take(ctx, lambda known: facts.fed(known, truck, visit, done, words), at, event_id, corrects)


@app.command()
def skipped(
    ctx: typer.Context,
    yard: YardId,
    reason: Annotated[str, typer.Argument(metavar="REASON", help="gate, mud, owner, robbing, sick, ...")],
    more: Words_ = None,
    until: Annotated[str, typer.Option("--until", "-u", help="It can be entered from then, HH:MM.")] = "",
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A yard was left unfed, and why."""
    book = ctx.obj.book()
    build = facts.skipped(book, truck, yard, reason, " ".join(more or ()), until)
    show(book, note(book, build, at=at, event_id=event_id, corrects=corrects, said=as_typed(ctx)))


@app.command()
def refilled(
    ctx: typer.Context,
    depot: DepotId,
    loads: Loads = None,
    truck: TruckId = "",
    lot: Lot = "",
    meter: MeterText = "",
    words: Words = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """A truck was filled at a depot: as planned when nothing is said."""
    take(
        ctx,
        lambda known: facts.refilled(known, truck, depot, loads or [], lot, meter, words),
        at,
        event_id,
        corrects,
    )


@app.command()
def gauge(
    ctx: typer.Context,
    tank: Annotated[str, typer.Argument(metavar="TANK", help="Tank id.")],
    amount: Annotated[str, typer.Argument(metavar="AMOUNT", help="What the gauge shows, as 180gal.")],
    truck: TruckId = "",
    at: At = "",
    event_id: Id = "",
    corrects: Corrects = "",
) -> None:
    """What a gauge shows: from then on that is what is in the tank."""
    take(ctx, lambda known: facts.gauged(known, truck, tank, amount), at, event_id, corrects)
