"""Small pieces of terminal output: safe text, sections, points of a list."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, cast

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from routing.reports.words.names import sentence
from routing.reports.words.text import one_line

NAME_WIDTH = 80
"""Letters of a name; a longer one is no name."""
P = ParamSpec("P")


def degrading(show: Callable[P, None]) -> Callable[P, None]:
    """Let a printing function work on an output that cannot show every letter: ``?`` stands for those.

    The console is the last positional argument, or given by name.
    """

    @wraps(show)
    def shown(*args: P.args, **kwargs: P.kwargs) -> None:
        console = cast(Console, kwargs.get("console") or args[-1])
        encoding = console.encoding or "ascii"
        if encoding.lower().replace("-", "").startswith("utf"):
            show(*args, **kwargs)
            return
        with console.capture() as captured:
            show(*args, **kwargs)
        console.file.write(captured.get().encode(encoding, "replace").decode(encoding))

    return shown


def text(value: str, style: str = "") -> Text:
    """Text of a user, never read as markup nor as terminal commands, in one line."""
    return Text(one_line(value), style=style)


def short(value: str, width: int = NAME_WIDTH) -> str:
    """A name in one line; only what is no name is cut."""
    value = one_line(value)
    return value if len(value) <= width else f"{value[: width - 1]}…"


def heading(console: Console, title: str) -> None:
    """A blank line, then the title of a section."""
    console.print()
    console.print(text(title, "bold"))


def bullet(console: Console, line: Text) -> None:
    """One point of a list, its further lines set in under the first."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=1)
    grid.add_column(overflow="fold")
    grid.add_row("-", line)
    console.print(Padding(grid, (0, 0, 0, 1)))


def reason_text(reason: str, remedy: str) -> str:
    """Why a yard is not fed, and what would change that."""
    help_text = f" Remedy: {remedy}" if remedy.strip() else ""
    return text(f"{sentence(reason)}{help_text}").plain
