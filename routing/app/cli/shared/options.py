"""The options that several commands share, with what ``--help`` says of them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from routing.app.cli.shared.dates import a_day, a_time

Folder = Annotated[Path, typer.Argument(help="Operation folder or .xlsx workbook.")]
Day = Annotated[
    datetime, typer.Option("--date", parser=a_day, metavar="DATE", help="Feeding date, like 2026-09-28.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
MaybeDay = Annotated[
    datetime | None,
    typer.Option(
        "--date",
        parser=a_day,
        metavar="DATE",
        help="Also check what is outdated or closed on this date.",
    ),
]
Now = Annotated[
    datetime, typer.Option(parser=a_time, metavar="HH:MM", help="Local time to plan from, like 11:20.")
]
Seconds = Annotated[float, typer.Option(min=0.5, max=86_400, help="Search time in seconds.")]
Iterations = Annotated[
    int | None, typer.Option(min=1, help="Stop after this many iterations instead of seconds (reproducible).")
]
Seed = Annotated[int, typer.Option(min=0, help="Random seed.")]
Out = Annotated[Path | None, typer.Option(help="Output folder (default: a new one under maps/).")]
Tiles = Annotated[
    str | None,
    typer.Option(help="Map tile URL template with {z}, {x} and {y}; off by default."),
]
TilesCredit = Annotated[str | None, typer.Option(help="Attribution required by the tile provider.")]
