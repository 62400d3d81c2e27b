"""What the command line writes to: tables and JSON on standard output, all else on standard error."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from rich.console import Console


def screen() -> Console:
    """Standard output. What a user typed is shown as typed: ``[x]`` is no markup, ``:100:`` no picture."""
    from rich.console import Console

    return Console(highlight=False, soft_wrap=False, markup=False, emoji=False)


def err() -> Console:
    """Standard error."""
    from rich.console import Console

    return Console(stderr=True, highlight=False, markup=False, emoji=False)


def emit(value: Any) -> None:
    """A value as JSON on standard output."""
    typer.echo(json.dumps(value, indent=2, ensure_ascii=False, default=str))


@contextmanager
def progress(first: str) -> Iterator[Callable[[str], None]]:
    """A line on standard error that tells what goes on; where nobody watches, only what takes a minute."""
    from routing.app.workflow.workflow import PREPARING_WORDS

    console = err()
    with console.status(first) as status:

        def say(text: str) -> None:
            status.update(text)
            if not console.is_terminal and text == PREPARING_WORDS:
                console.print(text, soft_wrap=True)

        yield say


def say_where(written: dict[str, Path], console: Console) -> None:
    """Where map and run sheets are, and the folder of everything."""
    console.print(f"Map:        {written['map.html']}", soft_wrap=True)
    for name in sorted(written):
        if name.startswith("run_sheet") and name.endswith(".pdf"):
            console.print(f"Run sheet:  {written[name]}", soft_wrap=True)
    console.print(f"All files:  {written['plan.json'].parent}", soft_wrap=True)
