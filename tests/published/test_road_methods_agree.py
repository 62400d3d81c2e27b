"""Real extracts: drives on our own road network against OSRM, which knows nothing of it.

The folder of extracts (``*.osm.pbf``, a county each) is named by the environment variable
FEEDROUND_EXTRACTS. OSRM drives with our truck profile, so that what differs is the road network, the
snapping, the turns and the search, each written twice without a common line. Seen on three extracts (open
farmland in England and in Germany, a mountain country): medians equal to 0.1 %, 92 to 98 % of all pairs
within 2 % in time. What differs more has one end on a road that one of the two holds to be cut off: open
tracks behind a private drive, which OSRM enters at a price.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from routing.domain.operation import Operation
from routing.domain.settings import TravelSettings
from routing.travel.engine.engine import engine_travel
from routing.travel.graph.file import open_graph
from routing.travel.roads.roads import NO_WAY_S, roads_travel
from tests.support.samples import depot, operation, yard

pytest.importorskip("osrm", reason="the embedded engine is not installed: pip install 'feedround[engine]'")
osmium = pytest.importorskip("osmium")

FOLDER = os.environ.get("FEEDROUND_EXTRACTS", "")
EXTRACTS = sorted(Path(FOLDER).glob("*.osm.pbf")) if FOLDER else []
ROADS = ("secondary", "tertiary", "unclassified", "residential", "service", "track")
PLACES = 120

pytestmark = pytest.mark.skipif(not EXTRACTS, reason="FEEDROUND_EXTRACTS names no folder with *.osm.pbf")


def spots(extract: Path) -> list[tuple[float, float]]:
    """(lat, lon) of random points on roads of all classes, tracks too."""
    found: set[tuple[float, float]] = set()
    ways = osmium.FileProcessor(str(extract)).with_locations().with_filter(osmium.filter.KeyFilter("highway"))
    for way in ways:
        if way.is_way() and way.tags["highway"] in ROADS:
            middle = way.nodes[len(way.nodes) // 2]
            if middle.location.valid():
                found.add((round(middle.lat, 6), round(middle.lon, 6)))
    ordered = sorted(found)
    chosen = np.random.default_rng(11).choice(len(ordered), PLACES, replace=False)
    return [ordered[k] for k in sorted(chosen)]


def asks(extract: Path) -> Operation:
    home, *others = spots(extract)
    yards = [yard(f"Y{i}", *at) for i, at in enumerate(others)]
    settings = TravelSettings(method="engine", extract=str(extract.resolve()))
    return operation(yards, [depot("D1", *home)], travel=settings)


@pytest.mark.parametrize("extract", EXTRACTS, ids=lambda path: path.name)
def test_engine_and_road_network_drive_the_same_times_and_distances(extract: Path) -> None:
    asked = asks(extract)
    ours, theirs = roads_travel(asked, open_graph(extract)), engine_travel(asked, None)
    both = (ours.matrix.drive_s < NO_WAY_S) & (theirs.matrix.drive_s < NO_WAY_S) & (ours.matrix.drive_s > 120)
    assert both.mean() > 0.8
    for table in ("drive_s", "distance_m"):
        ratio = getattr(theirs.matrix, table)[both] / getattr(ours.matrix, table)[both]
        apart = np.abs(ratio - 1)
        assert np.median(ratio) == pytest.approx(1.0, abs=0.005)
        assert (apart < 0.02).mean() > 0.85
        assert np.quantile(apart, 0.8) < 0.02
