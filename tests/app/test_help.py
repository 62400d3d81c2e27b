"""What ``--help`` says: something of every option, and nothing cut off on a narrow screen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import typer

from routing.app.cli import cli

ROOM = 80 - len("  received  ")
"""Letters left for a command in a list of 80 columns."""


def commands(group: Any, before: str = "") -> Iterator[tuple[str, Any]]:
    """Every command with its full name, those under ``note`` as well."""
    for name, command in group.commands.items():
        yield f"{before}{name}", command
        if hasattr(command, "commands"):
            yield from commands(command, f"{before}{name} ")


ALL = dict(commands(typer.main.get_command(cli.app)))


@pytest.mark.parametrize("name", sorted(ALL))
def test_a_command_says_what_it_does_in_a_line_that_is_never_cut(name: str) -> None:
    told = ALL[name].get_short_help_str(limit=ROOM)
    assert told
    assert not told.endswith("...")


@pytest.mark.parametrize("name", sorted(ALL))
def test_every_option_and_argument_says_what_it_is(name: str) -> None:
    silent = [p.name for p in ALL[name].params if not getattr(p, "help", None)]
    assert silent == []
