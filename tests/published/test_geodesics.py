"""Distances on the WGS84 ellipsoid, against geographiclib's own test values.

Source: GeographicLib, Python package 2.x, geographiclib/test/test_geodesic.py (C. F. F. Karney): the
``testcases`` of the inverse problem and ``GeodSolve0``; degrees of arc at the equator from the same
library. Longitudes past 180 degrees are brought into -180..180 before measuring.
"""

from __future__ import annotations

import pytest

from routing.domain.places import Position
from routing.travel.straight.geodesic import geodesic_m, geodesics_m

TESTCASES = [
    (35.60777, -139.44815, -11.17491, -69.95921, 8935244.5604818305),
    (55.52454, 106.05087, 77.03196, 197.18234, 4105086.1713924406),
    (-21.97856, 142.59065, 41.84138, 98.56635, 8394328.894657671),
    (-66.99028, 112.2363, -12.70631, 285.90344, 11150344.2312080241),
    (-50.56724, -16.30485, -33.56571, -94.97412, 6455670.5118668696),
    (-68.82867, -74.28391, -50.63005, -8.36685, 3956936.926063544),
    (-19.79938, -174.47484, -11.99349, -154.35109, 2319004.8601169389),
    (-41.22777, 122.32875, -7.57291, 130.37946, 3812686.035106021),
    (-25.72959, -144.90758, -57.70581, -269.17879, 9413446.7452453107),
]

WGS84_VALUES = [
    (40.6, -73.8, 51.6, -0.5, 5551759.4003),
    (-41.32, 174.81, 40.96, -5.50, 19959679.2674),
    (0.0, 0.0, 1.0, 0.0, 110574.3886),
    (0.0, 0.0, 0.0, 1.0, 111319.4908),
    (0.0, 0.0, 0.5, 179.5, 19936288.579),
]


def _place(lat: float, lon: float) -> Position:
    return Position(lat, lon if abs(lon) <= 180 else lon - 360 if lon > 0 else lon + 360)


@pytest.mark.parametrize(("lat_1", "lon_1", "lat_2", "lon_2", "metres"), TESTCASES)
def test_exact_distance_equals_the_published_one(lat_1, lon_1, lat_2, lon_2, metres) -> None:
    assert geodesic_m(_place(lat_1, lon_1), _place(lat_2, lon_2)) == pytest.approx(metres, abs=1e-6)


@pytest.mark.parametrize(("lat_1", "lon_1", "lat_2", "lon_2", "metres"), WGS84_VALUES)
def test_exact_distance_equals_the_library_value_to_a_tenth_of_a_millimetre(
    lat_1, lon_1, lat_2, lon_2, metres
) -> None:
    found_m = geodesic_m(_place(lat_1, lon_1), _place(lat_2, lon_2))
    assert found_m == pytest.approx(metres, abs=6e-4 if metres == 19936288.579 else 6e-5)


def test_geodsolve0_airport_to_airport() -> None:
    found_m = geodesic_m(Position(40.6, -73.8), Position(49.01666667, 2.55))
    assert found_m == pytest.approx(5853226, abs=0.5)


@pytest.mark.parametrize(("lat_1", "lon_1", "lat_2", "lon_2", "metres"), TESTCASES)
def test_fast_distance_is_within_forty_metres_of_the_published_one(
    lat_1, lon_1, lat_2, lon_2, metres
) -> None:
    assert float(geodesics_m(lat_1, lon_1, lat_2, lon_2)) == pytest.approx(metres, abs=40)
