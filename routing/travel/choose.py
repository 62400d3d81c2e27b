"""Get travel distances and times by the method that the operation names."""

from __future__ import annotations

from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.travel.engine import engine_travel
from routing.travel.server import server_travel
from routing.travel.straight import straight_travel


def travel_for(operation: Operation, folder: Path | None = None) -> Travel:
    """Travel by ``operation.travel.method``; files the settings name are looked for in ``folder``.

    Raises FeedroundError when the method is not one that works today.
    """
    method = operation.travel.method
    if method == "straight":
        return straight_travel(operation)
    if method == "roads":
        return _on_roads(operation, folder)
    if method == "engine":
        return engine_travel(operation, folder)
    if method == "server":
        return server_travel(operation)
    raise FeedroundError(
        f'operation.toml [travel] method = "{method}": no such method: there are "straight", "roads", '
        f'"engine" '
        'and "server"; set method = "straight" to go on without road data'
    )


def _on_roads(operation: Operation, folder: Path | None) -> Travel:
    # Only those who drive on roads wait for the libraries that read and search them.
    from routing.travel.road_file import open_graph
    from routing.travel.roads import roads_travel

    extract = operation.travel.extract
    if not extract:
        raise FeedroundError(
            'operation.toml [travel] method = "roads": there is no extract: name the road graph that '
            'feedround roads makes, or set method = "straight"'
        )
    # An operation may be a workbook: its extract then lies beside it.
    base = folder if folder is None or folder.is_dir() else folder.parent
    return roads_travel(operation, open_graph(Path(extract) if base is None else base / extract))
