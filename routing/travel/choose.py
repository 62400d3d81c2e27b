"""Get travel distances and times by the method that the operation names."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.domain.operation import Assumption, Operation
from routing.domain.travel import Travel
from routing.travel.engine.engine import engine_travel
from routing.travel.server.server import server_travel
from routing.travel.straight.straight import straight_travel


def travel_for(operation: Operation, folder: Path | None = None) -> Travel:
    """Travel by ``operation.travel.method``; files the settings name are looked for in ``folder``.

    Raises FeedroundError when the method is not one that works today.
    """
    method = operation.travel.method
    if method == "straight":
        return _straight(operation, folder)
    if method == "roads":
        return _on_roads(operation, folder)
    if method == "engine":
        return engine_travel(operation, folder)
    if method == "server":
        return server_travel(operation)
    raise FeedroundError(
        f'operation.toml [travel] method = "{method}": no such method: there are "straight", "roads", '
        '"engine" and "server"; set method = "straight" to go on without road data'
    )


def _straight(operation: Operation, folder: Path | None) -> Travel:
    """Straight lines; how crooked the roads are is measured where a road graph is named and nobody said."""
    path = _extract(operation, folder)
    if path is None or not path.is_file() or "travel.circuity" in operation.given:
        return straight_travel(operation)
    from routing.travel.graph.file import open_graph
    from routing.travel.roads.calibrate import measured_circuity

    found = measured_circuity(operation, open_graph(path))
    if found is None:
        return straight_travel(operation)
    settings = replace(operation.travel, circuity=found.circuity)
    where = f"measured on {path.name} between {found.places} of {found.of_places} places"
    unit = operation.assumptions()["travel.circuity"].unit
    made = straight_travel(replace(operation, travel=settings), f"Circuity {where}.")
    return replace(made, measured={"travel.circuity": Assumption(found.circuity, unit, where)})


def _extract(operation: Operation, folder: Path | None) -> Path | None:
    return beside(operation.travel.extract, folder)


def beside(name: str, folder: Path | None) -> Path | None:
    """A file that a setting names. An operation may be a workbook: its files then lie beside it."""
    if not name:
        return None
    base = folder if folder is None or folder.is_dir() else folder.parent
    return Path(name) if base is None else base / name


def _on_roads(operation: Operation, folder: Path | None) -> Travel:
    # Only those who drive on roads wait for the libraries that read and search them.
    from routing.travel.graph.file import open_graph
    from routing.travel.roads.elevation import read_grid
    from routing.travel.roads.roads import roads_travel

    path = _extract(operation, folder)
    if path is None:
        raise FeedroundError(
            'operation.toml [travel] method = "roads": there is no extract: name the road graph that '
            'feedround roads makes, or set method = "straight"'
        )
    grid = beside(operation.roads.elevation, folder)
    return roads_travel(operation, open_graph(path), None if grid is None else read_grid(grid))
