"""The verb that builds a road graph: parse, show progress, tell what was built."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from routing.app.cli.shared.options import AsJson
from routing.app.cli.shared.screen import emit, err


def roads(
    extract: Annotated[Path, typer.Argument(help="OpenStreetMap extract: .osm.pbf, .osm or .osm.bz2.")],
    out: Annotated[Path, typer.Option(help="File for the road graph, as county.roads.")],
    attribution: Annotated[
        str | None, typer.Option(help="Owner of the map data, if not OpenStreetMap.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Build the road graph of a county once, from a map extract.

    Example: feedround roads county.osm.pbf --out my-bees/county.roads
    """
    # Reading and searching roads takes libraries that no other verb waits for.
    from routing.app.workflow.roads import build_roads, summary_lines

    with _bar() as say:
        built = build_roads(extract, out, attribution, say)
    if as_json:
        emit(built)
        return
    for line in summary_lines(built):
        typer.echo(line)


@contextmanager
def _bar() -> Iterator[Callable[[str, int, float | None], None]]:
    """A bar for each stage on standard error, with a count; without a share where none is known."""
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeElapsedColumn())
    console = err()
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = {"": bar.add_task("reading roads", total=None)}

        def say(stage: str, count: int, share: float | None) -> None:
            if stage not in task:
                bar.remove_task(task.popitem()[1])
                task[stage] = bar.add_task(stage, total=None)
            bar.update(task[stage], description=f"{stage}: {count:,}", total=1 if share else None)
            if share:
                bar.update(task[stage], completed=share)

        yield say
