"""The head of `feedround note`: folder and date before the verb. The verbs are loaded when asked for."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import Annotated, Any

import typer
import typer.core

from routing.app.cli.shared.dates import a_day
from routing.app.cli.shared.options import Folder
from routing.domain.errors import FeedroundError, InputError

_NEGATIVE = re.compile(r"-\.?\d")


@dataclass(frozen=True)
class Context:
    """What stands before the verb, and all words as typed."""

    folder: Path
    day: datetime | None
    words: tuple[str, ...] = ()


class NoteGroup(typer.core.TyperGroup):
    """Lets ``--date`` stand anywhere in a note, and keeps notes that damaged files would lose."""

    @cached_property
    def verbs(self) -> dict[str, Any]:
        """Every verb by name. They need half a second of libraries that ``feedround --help`` does not."""
        from routing.app.cli.note.verbs import commands

        return commands()

    def list_commands(self, ctx: Any) -> list[str]:
        """The verbs in the order of a day."""
        return list(self.verbs)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """A verb by name; None where there is none."""
        return self.verbs.get(cmd_name)

    def invoke(self, ctx: Any) -> Any:
        """Run a verb, and take in what waited; where files are damaged, keep the note as typed and say so."""
        try:
            done = super().invoke(ctx)
        except FeedroundError as error:
            from routing.app.cli.note.waiting import kept
            from routing.files.log.rows import DayLogDamaged

            if not isinstance(error, (InputError, DayLogDamaged)) or not isinstance(ctx.obj, Context):
                raise
            day = ctx.obj.day.date() if ctx.obj.day else None
            if said := kept(ctx.obj.folder, day, ctx.invoked_subcommand or "", ctx.obj.words):
                raise FeedroundError(f"{error}\n{said}") from error
            raise
        from routing.app.cli.note.waiting import NOT_KEPT, settle_aloud

        if isinstance(ctx.obj, Context) and ctx.invoked_subcommand not in NOT_KEPT:
            settle_aloud(self, ctx.obj.folder)
        return done

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Bring the date to the front, where the command line looks for it."""
        args = [_legible(word) for word in args]
        end = args.index("--") if "--" in args else len(args)
        dates: list[str] = []
        rest: list[str] = []
        words = iter(args[:end])
        if below := _below_nothing(args[:end]):
            raise typer.BadParameter(f"{below} is negative: amounts start at 0, like 12gal or 10x1gal")
        for word in words:
            if word in ("--date", "-d"):
                dates += [word, *list(islice(words, 1))]
            elif word.startswith("--date="):
                dates.append(word)
            else:
                rest.append(word)
        ctx.meta["note"] = tuple(args)
        return super().parse_args(ctx, [*dates, *rest, *args[end:]])


def _legible(word: str) -> str:
    """A word with every byte that is no UTF-8 spelled out; the name of a file stays as it is."""
    plain = word.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return word if plain == word or os.path.lexists(word) else plain


def _below_nothing(args: list[str]) -> str:
    """The first word that is a number below zero, which would be taken for an option."""
    said = zip(["", *args], args, strict=False)
    return next((w for before, w in said if before not in ("--words", "-w") and _NEGATIVE.match(w)), "")


app = typer.Typer(
    name="note",
    cls=NoteGroup,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)


@app.callback()
def main(
    ctx: typer.Context,
    folder: Folder,
    day: Annotated[
        datetime | None,
        typer.Option(
            "--date", "-d", parser=a_day, metavar="DATE", help="Feeding date (default: the current day)."
        ),
    ] = None,
) -> None:
    """Record in the day log what happened. Notes are never changed, only withdrawn or replaced.

    Example: feedround note my-bees fed Y12 18/36gal
    """
    typed = list(ctx.meta.get("note", ()))
    if str(folder) in typed:
        typed.remove(str(folder))
    ctx.obj = Context(folder, day, tuple(typed))
