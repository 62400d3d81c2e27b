"""Tell where drives on roads come from, and give the map the roads to draw under the routes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from routing.domain.operation import Operation
from routing.domain.units import M_PER_FOOT, M_PER_KM, M_PER_MILE
from routing.travel.graph.graph import DEGREE, RoadGraph
from routing.travel.osm.roads import KINDS
from routing.travel.roads.climb import Climbs
from routing.travel.roads.snap import Snapped

MARGIN_DEGREES = 0.03
"""Roads are drawn so far beyond the outermost places: about three kilometres."""

MOST_POINTS = 40_000
"""Of the base layer: about half a megabyte of map. Main roads come first."""

_CLASSES = {kind: 2 if kind.startswith("track") else 1 for kind in KINDS} | dict.fromkeys(KINDS[:4], 0)


def far(operation: Operation, distance_m: float) -> str:
    """A distance in the reader's units: ``430 ft`` and ``2.1 mi``, or ``131 m`` and ``3.4 km``."""
    small, large = (M_PER_FOOT, M_PER_MILE) if operation.units == "us" else (1.0, M_PER_KM)
    names = ("ft", "mi") if operation.units == "us" else ("m", "km")
    if distance_m < large / 2:
        return f"{distance_m / small:.0f} {names[0]}"
    return f"{distance_m / large:.1f} {names[1]}"


def pace(operation: Operation, km_per_h: float) -> str:
    """A speed in the reader's units."""
    if operation.units == "us":
        return f"{km_per_h * M_PER_KM / M_PER_MILE:.0f} mph"
    return f"{km_per_h:g} km/h"


def roads_note(
    operation: Operation, graph: RoadGraph, snapped: Snapped, climbed: Sequence[Climbs] | None = None
) -> str:
    """What a reader must know of these distances and times, in one paragraph and his own units."""
    off = np.sort(snapped.distance_m)
    return (
        f"Drives on the roads of {graph.meta.get('source', 'a road graph')}; speeds and delays of a loaded "
        f"truck are estimates ([roads] in operation.toml), {operation.roads.ground} ground. Places lie "
        f"{far(operation, off[len(off) // 2])} (median) to {far(operation, off[-1])} from a road. "
        f"{_climb_note(operation, climbed)}"
        f"{operation.roads.attribution or graph.meta.get('attribution', '')}"
    ).strip()


def _climb_note(operation: Operation, climbed: Sequence[Climbs] | None) -> str:
    """Whether climbs are in the fuel, and how much of the roads the grid knows."""
    if not climbed:
        return ""
    unknown = max(table.unknown for table in climbed)
    gap = f" ({100 * unknown:.0f} % of the roads have no height there and count as level)" if unknown else ""
    return f"Fuel counts climbs by the heights of {Path(operation.roads.elevation).name}{gap}. "


def base_roads(
    graph: RoadGraph, positions: Sequence[tuple[float, float]]
) -> tuple[tuple[int, tuple[tuple[float, float], ...]], ...]:
    """Roads around the places, (class, line): class 0 main roads, 1 minor roads, 2 tracks."""
    if not positions:
        return ()
    lon, lat = np.array(positions).T
    x, y = graph.x[graph.first] * DEGREE, graph.y[graph.first] * DEGREE
    within = (x >= lon.min() - MARGIN_DEGREES) & (x <= lon.max() + MARGIN_DEGREES)
    within &= (y >= lat.min() - MARGIN_DEGREES) & (y <= lat.max() + MARGIN_DEGREES)
    kind = graph.fact("kind")
    rank = np.array([_CLASSES[name] for name in KINDS])[kind]
    chosen = np.flatnonzero(within)
    chosen = chosen[np.argsort(rank[chosen], kind="stable")]
    points = np.cumsum(graph.last[chosen] - graph.first[chosen] + 1)
    found = []
    for edge in chosen[points <= MOST_POINTS].tolist():
        xs, ys = graph.line(edge)
        line = zip((xs * DEGREE).round(6).tolist(), (ys * DEGREE).round(6).tolist(), strict=True)
        found.append((int(rank[edge]), tuple(line)))
    return tuple(found)
