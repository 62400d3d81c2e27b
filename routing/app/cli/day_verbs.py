"""The commands that read the day log: status, the feed record, and what can be learned."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from routing.app.cli.shared.dates import a_day, a_span
from routing.app.cli.shared.options import AsJson, Day, Folder
from routing.app.cli.shared.screen import emit, screen

From = Annotated[
    datetime | None,
    typer.Option(
        "--from", parser=a_day, metavar="DATE", help="First feeding date (default: the first in the log)."
    ),
]
To = Annotated[
    datetime | None,
    typer.Option(
        "--to", parser=a_day, metavar="DATE", help="Last feeding date (default: the last in the log)."
    ),
]


def status(
    folder: Folder,
    day: Day,
    now: Annotated[str, typer.Option(help="Show the day as of this local time (default: now).")] = "",
    as_json: AsJson = False,
) -> None:
    """Show where the day stands and where it differs from the plan.

    Example: feedround status my-bees --date 2026-09-28 --now 11:20
    """
    from routing.app.workflow import day_book
    from routing.app.workflow.day_calls import refused_calls
    from routing.reports.terminal.day import day_status

    book, state = day_book.status(folder, day.date(), now)
    refused = refused_calls(book.operation, state)
    if as_json:
        told = asdict(state)
        for yard_id, why in refused.items():
            told["yards"][yard_id]["urgent_refused"] = why
        emit(told)
        return
    day_status(book.operation, state, console=screen(), refused=refused)


def record(
    folder: Folder,
    out: Annotated[Path, typer.Option(help="The CSV file to write.")] = Path("feed_record.csv"),
    first: From = None,
    last: To = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Overwrite even if the file has more feedings.")
    ] = False,
) -> None:
    """Write the feed record: which syrup went where, and when.

    Example: feedround record my-bees --from 2026-08-01 --out feed_record.csv
    """
    from routing.app.workflow.record import write_record

    typer.echo(write_record(folder, out, *a_span(first, last), replace=replace))


def learn(
    folder: Folder,
    first: From = None,
    last: To = None,
    apply: Annotated[
        bool, typer.Option("--apply", help="Write the proposals to operation.toml and feeders.csv.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Compare the day log with the plans and propose better settings.

    Example: feedround learn my-bees --from 2026-08-01
    """
    from routing.app.workflow.learning import apply_lessons, learned
    from routing.reports.terminal.learn import lessons_text

    found = learned(folder, *a_span(first, last))
    changed = apply_lessons(folder, found.lessons) if apply else ()
    if as_json:
        emit(asdict(found.lessons) | {"applied": list(changed)})
        return
    lessons_text(found.operation, found.lessons, screen())
    for line in changed:
        typer.echo(f"Changed: {line}")
    if apply and not changed:
        typer.echo("Nothing to change.")
