"""The fast distance of tables against the exact one."""

from __future__ import annotations

import numpy as np
import pytest

from routing.domain.places import Position
from routing.travel.straight.geodesic import NEAR_ANTIPODE_RAD, geodesic_m, geodesic_table_m, geodesics_m


def _pairs(span_deg: float, count: int = 300) -> list[tuple[Position, Position]]:
    rng = np.random.default_rng(7)
    lat = rng.uniform(-80, 80, count)
    lon = rng.uniform(-170, 170, count)
    shift = rng.uniform(-span_deg, span_deg, (2, count))
    return [
        (Position(a, b), Position(a + c, b + d)) for a, b, c, d in zip(lat, lon, *shift.tolist(), strict=True)
    ]


def _fast_m(a: Position, b: Position) -> float:
    return float(geodesics_m(a.lat, a.lon, b.lat, b.lon))


@pytest.mark.parametrize(
    ("span_deg", "limit_m"), [(0.001, 0.001), (0.1, 0.1), (4.0, 1.0), (9.0, 10.0)], ids=lambda v: str(v)
)
def test_fast_distance_agrees_with_the_exact_one(span_deg: float, limit_m: float) -> None:
    for a, b in _pairs(span_deg):
        assert abs(_fast_m(a, b) - geodesic_m(a, b)) < limit_m


def test_fast_distance_stays_within_three_in_a_thousand_all_over_the_world() -> None:
    rng = np.random.default_rng(3)
    ends = zip(rng.uniform(-90, 90, 600), rng.uniform(-90, 90, 600), rng.uniform(-180, 180, 600), strict=True)
    for lat_1, lat_2, lon_2 in [*ends, (0.0, 0.0, 180.0), (0.0, 0.5, 179.5), (-90.0, 90.0, 0.0)]:
        a, b = Position(lat_1, 0.0), Position(lat_2, lon_2)
        assert _fast_m(a, b) == pytest.approx(geodesic_m(a, b), rel=0.003)


def test_no_step_where_the_series_gives_way_to_the_sphere() -> None:
    edge_deg = float(np.degrees(NEAR_ANTIPODE_RAD))
    before, after = (_fast_m(Position(0, 0), Position(0, edge_deg + d)) for d in (-1e-6, 1e-6))
    assert after == pytest.approx(before, rel=0.002)


def test_distance_from_a_place_to_itself_is_nothing() -> None:
    here = Position(46.8, -100.8)
    assert geodesic_m(here, here) == 0
    assert _fast_m(here, here) == 0


def test_yards_either_side_of_the_date_line_are_close() -> None:
    a, b = Position(-17.0, 179.99), Position(-17.0, -179.99)
    assert _fast_m(a, b) == pytest.approx(geodesic_m(a, b), rel=1e-5)
    assert _fast_m(a, b) < 2_200


def test_table_holds_the_distance_of_every_pair_across_its_blocks() -> None:
    rng = np.random.default_rng(11)
    lat, lon = rng.uniform(45, 48, 300), rng.uniform(-103, -98, 300)
    table = geodesic_table_m(lat, lon)
    assert np.allclose(table, geodesics_m(lat[:, None], lon[:, None], lat, lon), rtol=0, atol=1e-6)
    assert (table == table.T).all()
    assert (np.diag(table) == 0).all()
