"""Make a verb of a function that turns the words typed into a fact, and record what it makes."""

from __future__ import annotations

import inspect
import shlex
from collections.abc import Callable
from typing import Any, get_type_hints

import typer

from routing.app.cli.note.answer import show
from routing.app.cli.note.options import At, Corrects, Id
from routing.app.workflow.day_book import DayBook, note, open_any, open_day
from routing.log.complete.complete import Known
from routing.log.events import Fact

Made = tuple[str, Fact]
"""Truck ("" for the office) and fact of a note."""

_COMMON = {"at": At, "event_id": Id, "corrects": Corrects}
"""Options of every note: when it was so, its id, and which note it takes the place of."""


def event_verb(make: Callable[..., Made]) -> Callable[..., None]:
    """The command that records what ``make`` makes of the day as known and of the words typed.

    Parameters
    ----------
    make
        Takes a ``Known`` and then its own arguments and options, annotated for the command line; returns
        truck and fact, or raises ValueRefused with what to type instead. Its docstring is the help.

    Returns
    -------
    Callable
        A command with the arguments and options of ``make`` and the options of every note.
    """

    def command(ctx: typer.Context, at: str, event_id: str, corrects: str, **typed: Any) -> None:
        def build(known: Known) -> Made:
            return make(known, **typed)

        book = book_of(ctx)
        show(book, note(book, build, at=at, event_id=event_id, corrects=corrects, said=as_typed(ctx)))

    keyword = inspect.Parameter.KEYWORD_ONLY
    hints = get_type_hints(make, include_extras=True)
    own = list(inspect.signature(make).parameters.values())[1:]
    parameters = [
        inspect.Parameter("ctx", keyword, annotation=typer.Context),
        *(p.replace(kind=keyword, annotation=hints[p.name]) for p in own),
        *(inspect.Parameter(name, keyword, default="", annotation=kind) for name, kind in _COMMON.items()),
    ]
    command.__name__, command.__doc__ = make.__name__, make.__doc__
    command.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    return command


def book_of(ctx: typer.Context) -> DayBook:
    """The book of the day that stands before the verb, else of the day going on."""
    return open_day(ctx.obj.folder, ctx.obj.day.date() if ctx.obj.day else None)


def plan_book_of(ctx: typer.Context) -> DayBook:
    """The book to note a plan in: of the date that was said, or of any."""
    return open_any(ctx.obj.folder, ctx.obj.day.date() if ctx.obj.day else None)


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
