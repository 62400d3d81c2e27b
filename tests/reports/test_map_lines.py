"""Lines as they are prepared for drawing."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from routing.reports.map.lines import LANES, SCALE, lanes, network, packed, whole

A, B, C, D = (0, 0), (0, 10), (10, 10), (10, 0)


def test_leg_alone_on_its_road_runs_down_the_middle():
    assert lanes([[A, B], [C, D]]) == [0, 0]


def test_two_trucks_on_one_road_get_different_lanes():
    assert lanes([[A, B, C], [A, B, D]]) == [1, 2]


def test_way_out_and_way_back_lie_on_either_side():
    # Both are moved to the right of their own direction, so the first lane serves both.
    assert lanes([[A, B], [B, A]]) == [1, 1]


def test_third_leg_takes_the_lowest_lane_that_is_free():
    assert lanes([[A, B], [A, B], [B, C], [A, B, C]]) == [1, 2, 1, 3]


def test_lanes_do_not_run_off_the_road():
    assert max(lanes([[A, B]] * 40)) == LANES


def test_leg_that_passes_a_road_twice_shares_it_with_nobody():
    assert lanes([[A, B, A]]) == [0]


degrees = st.tuples(st.floats(-179, 179), st.floats(-85, 85))


@given(st.lists(degrees, max_size=12))
def test_packed_line_unpacks_to_within_a_metre(line):
    flat = packed(whole(line))
    lat = lon = 0
    points = []
    for i in range(0, len(flat), 2):
        lat, lon = lat + flat[i], lon + flat[i + 1]
        points.append((lat, lon))
    assert points == whole(line)
    for x, y in line:
        assert any(abs(a / SCALE - y) <= 6e-6 and abs(b / SCALE - x) <= 6e-6 for a, b in points)


def test_road_used_by_many_pairs_is_drawn_once():
    lines = [((0.0, 0.0), (0.1, 0.0), (0.2, 0.0)), ((0.2, 0.0), (0.1, 0.0), (0.1, 0.1))]
    roads = network(lines)
    segments = [tuple(sorted(pair)) for road in roads for pair in pairwise(road)]
    assert len(segments) == len(set(segments)) == 3


def test_network_stops_at_its_budget():
    lines = [((i / 100, 0.0), (i / 100, 0.01)) for i in range(100)]
    assert len(network(lines, most_points=10)) == 10
