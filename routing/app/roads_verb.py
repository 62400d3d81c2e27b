"""The verb that builds a road graph: parse, show progress, tell what was built."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console


def roads(
    extract: Annotated[Path, typer.Argument(help="OpenStreetMap extract: .osm.pbf, .osm or .osm.bz2.")],
    out: Annotated[Path, typer.Option(help="File for the road graph, as county.roads.")],
    attribution: Annotated[
        str | None, typer.Option(help="Whose data it is, where it is not OpenStreetMap's.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")] = False,
) -> None:
    """Build the road graph of a county once, from a map extract."""
    # Reading and searching roads takes libraries that no other verb waits for.
    from routing.app.roads import build_roads, summary_lines

    with _bar() as say:
        built = build_roads(extract, out, attribution, say)
    if as_json:
        typer.echo(json.dumps(built, indent=2, ensure_ascii=False))
        return
    for line in summary_lines(built):
        typer.echo(line)


@contextmanager
def _bar() -> Iterator[Callable[[str, int], None]]:
    """A bar on standard error with the stage and a count; how much is to come is not known beforehand."""
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    console = Console(stderr=True)
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("reading roads", total=None)
        yield lambda stage, count: bar.update(task, description=f"{stage}: {count:,}")
