"""How crooked roads are, against what is published.

Sources: O'Sullivan, D. and Morrall, J. (1996), Walking distances to and from light-rail transit stations,
Transportation Research Record 1538 (1.21 to 1.23 in towns); Ballou, R. H., Rahardja, H. and Sakai, N.
(2002), Selected country circuity factors for road travel distance estimation, Transportation Research A
36:843-848 (1.20 for long trips in the United States, from memory); Giacomin, D. J. and Levinson, D. M.
(2015), Road network circuity in metropolitan areas, Environment and Planning B 42:1040-1053: short trips
are more circuitous than long ones.
"""

from __future__ import annotations

import numpy as np
import pytest

from routing.domain.road_settings import RoadSettings
from routing.domain.settings import CIRCUITY, TravelSettings
from routing.travel.graph.arcs import DM, Vehicle, passable, reachable
from routing.travel.graph.file import graph_from_extract
from routing.travel.roads.drives import drives
from routing.travel.roads.snap import Snapper
from routing.travel.straight.geodesic import geodesic_table_m
from tests.support.road_maps import real_extract


def _legs(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Road and straight metres between 150 random places of a real extract, more than 1 km apart."""
    graph = graph_from_extract(real_extract(name))
    usable = reachable(graph, passable(graph, Vehicle(), wet=False), wet=False)
    dice = np.random.default_rng(3)
    at = graph.first[dice.choice(np.flatnonzero(usable), 150)]
    snapped = Snapper(graph, usable).snap(graph.y[at] * 1e-7, graph.x[at] * 1e-7)
    made = drives(graph, usable, snapped, RoadSettings())
    straight_m = geodesic_table_m(snapped.lat, snapped.lon)
    chosen = (straight_m > 1000) & np.isfinite(made.time_cs)
    return made.length_dm[chosen] / DM, straight_m[chosen]


def test_no_drive_is_shorter_than_the_straight_line() -> None:
    road_m, straight_m = _legs("rutland.osm.pbf")
    assert (road_m >= straight_m * 0.999).all()


@pytest.mark.parametrize(("extract", "network"), [("rutland", "open"), ("andorra", "mountain")])
def test_the_default_is_as_crooked_as_roads_of_that_network(extract: str, network: str) -> None:
    """No more than an eighth from what is measured, and above every published ratio of towns."""
    road_m, straight_m = _legs(f"{extract}.osm.pbf")
    ratio = road_m.sum() / straight_m.sum()
    assert CIRCUITY[network] == pytest.approx(ratio, rel=0.125)
    assert TravelSettings().circuity == CIRCUITY["open"] > 1.23


def test_short_legs_are_more_crooked_than_long_ones() -> None:
    road_m, straight_m = _legs("rutland.osm.pbf")
    ratio = road_m / straight_m
    short, long = ratio[straight_m < 3e3], ratio[(straight_m >= 12e3) & (straight_m < 25e3)]
    assert min(len(short), len(long)) > 100
    assert np.median(short) > np.median(long) + 0.05


def test_mountains_are_more_crooked_than_farmland() -> None:
    farm, mountain = (
        float(np.median(np.divide(*_legs(f"{name}.osm.pbf")))) for name in ("rutland", "andorra")
    )
    assert mountain > farm + 0.1
