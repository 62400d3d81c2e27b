"""Which places lie outside a legal radius."""

from __future__ import annotations

from geopy.distance import geodesic

from routing.domain.places import Position, Yard
from routing.travel.straight.geodesic import geodesic_m
from routing.travel.straight.radius import EU_FARM_M, US_SHORT_HAUL_M, beyond_radius
from tests.support.samples import BASE, depot, operation, yard


def _north(metres: float) -> Position:
    point = geodesic(meters=metres).destination((BASE.lat, BASE.lon), 0)
    return Position(point.latitude, point.longitude)


def _yard_at(yard_id: str, metres: float) -> Yard:
    spot = _north(metres)
    return yard(yard_id, spot.lat, spot.lon)


def test_legal_radii_are_those_of_the_rules() -> None:
    assert US_SHORT_HAUL_M == 277_800
    assert EU_FARM_M == 100_000


def test_yard_one_metre_outside_is_named_and_one_metre_inside_is_not() -> None:
    op = operation([_yard_at("in", US_SHORT_HAUL_M - 1), _yard_at("out", US_SHORT_HAUL_M + 1)])
    assert [found.place for found in beyond_radius(op, BASE, US_SHORT_HAUL_M)] == ["yard:out"]


def test_place_on_the_circle_is_within() -> None:
    op = operation([yard("edge", 47.5, -101.5)])
    edge_m = geodesic_m(BASE, op.yards["edge"].position)
    assert beyond_radius(op, BASE, edge_m) == ()


def test_radius_is_a_straight_line_not_a_road() -> None:
    op = operation([_yard_at("near", 90_000)])
    assert beyond_radius(op, BASE, EU_FARM_M) == ()


def test_depots_count_too_and_the_farthest_comes_first() -> None:
    far = _north(300_000)
    op = operation([_yard_at("b", 120_000), _yard_at("a", 120_000)], [depot(), depot("S", far.lat, far.lon)])
    found = beyond_radius(op, BASE, EU_FARM_M)
    assert [f.place for f in found] == ["depot:S", "yard:a", "yard:b"]
    assert round(found[0].distance_m) == 300_000
