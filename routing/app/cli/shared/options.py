"""The options that several commands share, with what ``--help`` says of them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from routing.app.cli.shared.dates import a_day, a_time

Folder = Annotated[Path, typer.Argument(help="Operation folder, or its .xlsx workbook.")]
Day = Annotated[
    datetime, typer.Option("--date", parser=a_day, metavar="DATE", help="Feeding date, as 2026-09-28.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
MaybeDay = Annotated[
    datetime | None,
    typer.Option(
        "--date",
        parser=a_day,
        metavar="DATE",
        help="Feeding date, as 2026-09-28: says what is too old or closed on it.",
    ),
]
Now = Annotated[
    datetime, typer.Option(parser=a_time, metavar="HH:MM", help="Local time to plan from, as 11:20.")
]
Seconds = Annotated[float, typer.Option(min=0.5, max=86_400, help="Seconds to search for better plans.")]
Iterations = Annotated[
    int | None, typer.Option(min=1, help="Search so many rounds, not seconds: the same plan on every run.")
]
Seed = Annotated[int, typer.Option(min=0, help="Any other number may find another plan.")]
Out = Annotated[
    Path | None, typer.Option(help="Folder for map, sheets and files; else one of its own under maps.")
]
Tiles = Annotated[
    str | None,
    typer.Option(
        help="Address of a server of map pictures, with {z}, {x} and {y} in it; off until switched on."
    ),
]
TilesCredit = Annotated[str | None, typer.Option(help="The credit that the owner of the pictures asks for.")]
