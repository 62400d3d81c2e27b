"""Get travel from the routing engine embedded in this process (OSRM), with a truck profile of our own."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np

from routing.domain.errors import FeedroundError
from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.road_settings import RoadSettings
from routing.domain.travel import Travel
from routing.travel.engine.build import EngineError, check_extract, road_data
from routing.travel.engine.profile import profile_text
from routing.travel.server.matrix import Line, road_travel
from routing.travel.server.tables import Block, Floats, Spots, read_table

PACKAGE = "osrm-bindings"
OLDEST_PYTHON = (3, 12)
"""The engine's wheels begin there."""


def engine_travel(operation: Operation, folder: Path | None) -> Travel:
    """Travel between all depots and yards by the embedded engine, over the extract in ``travel.extract``.

    ``folder`` is the operation folder (or its workbook), from which the extract is looked for. Raises
    FeedroundError when the engine is not installed, the extract is none, or a place lies off its roads.
    """
    with EngineSource(operation, folder) as source:
        opening = f"Roads of {Path(operation.travel.extract).name}, (c) OpenStreetMap contributors (ODbL)"
        return road_travel(source, operation, "engine", opening)


class EngineSource:
    """The embedded engine over one extract: a context, for its data may be temporary."""

    note = (
        "driven by the embedded OSRM engine with feedround's truck profile ([roads] in operation.toml); "
        "limits of mass are held against the legal gross of each truck, loaded or not"
    )

    def __init__(self, operation: Operation, folder: Path | None) -> None:
        self.library = load_library()
        self.extract = _extract(operation, folder)
        check_extract(self.extract)
        self.roads: RoadSettings = operation.roads
        self._open = ExitStack()
        self._engines: dict[str, Any] = {}

    def __enter__(self) -> EngineSource:
        return self

    def __exit__(self, *_: object) -> None:
        self._engines.clear()
        self._open.close()

    def truck_key(self, truck: Truck) -> str:
        """Trucks of the same key have the same table."""
        return f"{truck.gvwr_kg:g} {truck.height_m} {truck.length_m} {truck.width_m} {truck.axle_kg}"

    def at_once(self, n: int) -> int:
        """All places at once."""
        return n

    def too_many(self, error: FeedroundError) -> bool:
        """Never: the engine is opened without a limit."""
        return False

    def fault(self, text: str) -> FeedroundError:
        """The error to raise when an answer cannot be used."""
        return EngineError(f"routing engine, {self.extract.name}: {text}")

    def moved_m(self, spots: Spots, truck: Truck) -> Floats | None:
        """None: the tables tell it."""
        return None

    def block(self, spots: Spots, sources: range, targets: range, truck: Truck) -> Block:
        """Part of a table. Raises FeedroundError."""
        asked = self.library.TableParameters(
            coordinates=list(spots),
            sources=list(sources),
            destinations=list(targets),
            annotations=["duration", "distance"],
            generate_hints=False,
        )
        answer = self._ask(truck, "Table", asked)
        shape = (len(sources), len(targets))
        duration_s, distance_m = (
            read_table(_rows(answer[name]), shape, name, self.fault) for name in ("durations", "distances")
        )
        moved_m = np.array([float(answer["sources"][k]["distance"]) for k in range(len(sources))])
        return Block(distance_m, duration_s, moved_m)

    def line(self, a: tuple[float, float], b: tuple[float, float], truck: Truck) -> Line:
        """The line of (lon, lat) that a truck drives from one place to another. Raises FeedroundError."""
        asked = self.library.RouteParameters(
            coordinates=[a, b], geometries="geojson", overview="full", generate_hints=False
        )
        points = self._ask(truck, "Route", asked)["routes"][0]["geometry"]["coordinates"]
        return tuple((float(points[k][0]), float(points[k][1])) for k in range(len(points)))

    def _ask(self, truck: Truck, service: str, asked: Any) -> Any:
        try:
            return getattr(self._engine(truck), service)(asked)
        except (RuntimeError, ValueError) as error:
            words = "".join(c if c.isprintable() else " " for c in str(error))[:200]
            raise self.fault(f"it finds no answer ({words})") from error

    def _engine(self, truck: Truck) -> Any:
        key = self.truck_key(truck)
        if key not in self._engines:
            home = Path(self.library.__file__).parent
            profile = profile_text(truck, self.roads, home / "share" / "profiles")
            base = self._open.enter_context(road_data(self.extract, profile, home / "bin", _version()))
            try:
                self._engines[key] = self.library.OSRM(
                    storage_config=str(base),
                    algorithm="MLD",
                    use_shared_memory=False,
                    max_locations_distance_table=-1,
                )
            except (RuntimeError, ValueError) as error:
                raise self.fault(f"its data cannot be opened ({error})") from error
        return self._engines[key]


def load_library() -> Any:
    """The engine's module. Raises EngineError with what to install where it is missing."""
    try:
        return importlib.import_module("osrm")
    except ImportError as error:
        if sys.version_info < OLDEST_PYTHON:
            here = f"{sys.version_info.major}.{sys.version_info.minor}"
            remedy = f"it needs Python 3.12 or later, and this is {here}: install feedround[engine] there"
        else:
            remedy = "pip install 'feedround[engine]'"
        raise EngineError(
            f'operation.toml [travel] method = "engine": the embedded engine ({PACKAGE}) is not installed: '
            f'{remedy}, or set method = "roads" (nothing more to install) or method = "straight"'
        ) from error


def _version() -> str:
    try:
        return version(PACKAGE)
    except PackageNotFoundError:
        return "unknown"


def _extract(operation: Operation, folder: Path | None) -> Path:
    if not operation.travel.extract:
        raise EngineError(
            'operation.toml [travel] method = "engine": there is no extract: name an OpenStreetMap extract '
            '(extract = "area.osm.pbf"), or set method = "straight"'
        )
    base = folder or Path()
    return (base if base.is_dir() else base.parent) / operation.travel.extract


def _rows(table: Any) -> Sequence[Sequence[float | None]]:
    """A table of the engine as lists; its own arrays know only length and index."""
    return [list(row) for row in table]
