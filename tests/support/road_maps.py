"""Small made-up road maps, and drives on them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from routing.domain.fleet import Truck
from routing.domain.operation import Operation
from routing.domain.places import Depot, Position, Yard
from routing.domain.travel import Travel
from routing.travel.graph.file import graph_from_extract
from routing.travel.graph.graph import RoadGraph
from routing.travel.roads.roads import roads_travel
from routing.travel.straight.geodesic import geodesic_m
from tests.support.osm_xml import Grid, spot, write_osm
from tests.support.samples import operation, truck

ROAD = {"highway": "tertiary"}
TRACK = {"highway": "track"}

REAL = Path(__file__).parents[3] / "shared" / "roads"


def real_extract(name: str) -> Path:
    """A real extract kept beside the project; the test is skipped where there is none."""
    path = REAL / name
    if not path.is_file():
        pytest.skip(f"no real extract {name} beside the project (../shared/roads)")
    return path


def position(at: Grid) -> Position:
    lat, lon = spot(at)
    return Position(lat, lon)


def metres(*stops: Grid) -> float:
    """Along straight pieces between points of the grid."""
    line = [position(at) for at in stops]
    return sum(geodesic_m(a, b) for a, b in pairwise(line))


def made_graph(
    folder: Path, points: Mapping[str, Grid], ways: Sequence[tuple[str, Mapping[str, str]]], **more: Any
) -> RoadGraph:
    return graph_from_extract(write_osm(folder / "made.osm", points, ways, **more))


def operation_at(
    places: Mapping[str, Grid],
    trucks: Iterable[Truck] = (),
    yard: Mapping[str, Any] | None = None,
    **more: Any,
) -> Operation:
    """The first place is the depot, the others are yards of those names; ``yard`` holds for all yards."""
    (base, at), *others = places.items()
    return operation(
        [Yard(name, name, position(spot_), **(yard or {})) for name, spot_ in others],
        [Depot(base, base, position(at), base=True)],
        [replace(t, start_depot=base, end_depot=base) for t in tuple(trucks) or (truck(),)],
        **more,
    )


def drive(travel: Travel, a: str, b: str, truck_id: str = "T1") -> tuple[int, int]:
    """(metres, seconds) between two places by name."""
    keys = {key.partition(":")[2]: key for key in travel.places}
    leg = travel.leg(truck_id, keys[a], keys[b])
    return leg.distance_m, leg.drive_s


def travel_on(graph: RoadGraph, places: Mapping[str, Grid], **more: Any) -> Travel:
    return roads_travel(operation_at(places, **more), graph)
