"""What ``--help`` says: something of every option, an example, and nothing cut off on a narrow screen."""

from __future__ import annotations

import shlex
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest
import typer
import typer.testing

from routing.app.cli import cli

ROOM = 80 - len("  received  ")
"""Letters left for a command in a list of 80 columns."""


def commands(group: Any, before: str = "") -> Iterator[tuple[str, Any]]:
    """Every command with its full name, those under ``note`` as well."""
    for name in group.list_commands(None):
        command = group.get_command(None, name)
        yield f"{before}{name}", command
        if hasattr(command, "list_commands"):
            yield from commands(command, f"{before}{name} ")


FEEDROUND: Any = typer.main.get_command(cli.app)
ALL = dict(commands(FEEDROUND))
SLOW = ("numpy", "pandas", "pydantic", "rich", "openpyxl", "folium", "jinja2", "scipy", "numba", "ortools")
"""Libraries that nobody waits for who only asks for help."""


@pytest.mark.parametrize("name", sorted(ALL))
def test_a_command_says_what_it_does_in_a_line_that_is_never_cut(name: str) -> None:
    told = ALL[name].get_short_help_str(limit=ROOM)
    assert told
    assert not told.endswith("...")


@pytest.mark.parametrize("name", sorted(ALL))
def test_every_option_and_argument_says_what_it_is(name: str) -> None:
    silent = [p.name for p in ALL[name].params if not getattr(p, "help", None)]
    assert silent == []


def _parse(group: Any, words: list[str]) -> str:
    """Parse a command line to its end without running it; the name of the command that it is for."""
    context = group.make_context("feedround", list(words))
    name, command, rest = group.resolve_command(
        context, [*getattr(context, "_protected_args", ()), *context.args]
    )
    if hasattr(command, "list_commands"):
        return f"{name} {_parse(command, rest)}"
    command.make_context(name, rest, parent=context)
    return str(name)


@pytest.mark.parametrize("name", ["", *sorted(ALL)])
def test_every_help_shows_one_example_that_the_command_understands(name: str) -> None:
    # A verb of a note stands behind the folder.
    before = ["note", "my-bees"] if name.startswith("note ") else []
    words = [*before, *name.removeprefix("note ").split(), "--help"] if before else [*name.split(), "--help"]
    ran = typer.testing.CliRunner().invoke(cli.app, words, prog_name="feedround")
    examples = [line.strip() for line in ran.output.splitlines() if "Example:" in line]
    assert len(examples) == 1, ran.output
    program, *words = shlex.split(examples[0].removeprefix("Example: "))
    assert program == "feedround"
    assert _parse(FEEDROUND, words).startswith(name)


def test_asking_for_help_loads_no_library_that_takes_long() -> None:
    code = (
        "import sys; sys.argv = ['feedround', '--help']\n"
        "from routing.app.start import main\n"
        "try: main()\n"
        f"finally: print(sorted(set({SLOW!r}) & set(sys.modules)), file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "note" in ran.stdout
    assert ran.stderr.strip() == "[]"
