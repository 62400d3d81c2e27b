"""The travel table: what it refuses, and what it tells of one drive."""

from __future__ import annotations

import numpy as np
import pytest

from routing.domain.errors import ValueRefused
from routing.domain.travel import Matrix, Provenance, Travel

PLACES = ("depot:D", "yard:A", "yard:B")
POSITIONS = ((-100.0, 46.0), (-100.1, 46.1), (-100.2, 46.2))


def _matrix(factor: int = 1) -> Matrix:
    metres = factor * np.array([[0, 1000, 2000], [1100, 0, 1500], [2100, 1400, 0]])
    return Matrix(metres, metres // 10)


def _travel(**more: object) -> Travel:
    return Travel(PLACES, POSITIONS, _matrix(), Provenance("roads", "a test", False), **more)


def test_drive_there_may_differ_from_the_drive_back() -> None:
    travel = _travel()
    there, back = travel.leg("T1", "depot:D", "yard:A"), travel.leg("T1", "yard:A", "depot:D")
    assert (there.distance_m, there.drive_s) == (1000, 100)
    assert (back.distance_m, back.drive_s) == (1100, 110)


def test_truck_with_a_table_of_its_own_uses_it() -> None:
    travel = _travel(by_truck={"wide": _matrix(2)})
    assert travel.leg("wide", "yard:A", "yard:B").distance_m == 3000
    assert travel.leg("small", "yard:A", "yard:B").distance_m == 1500


def test_known_road_is_drawn_as_it_runs_and_an_unknown_one_straight() -> None:
    bend = (POSITIONS[0], (-100.05, 46.0), POSITIONS[1])
    travel = _travel(lines={("depot:D", "yard:A"): bend})
    assert travel.leg("T1", "depot:D", "yard:A").geometry == bend
    assert travel.leg("T1", "yard:A", "depot:D").geometry == (POSITIONS[1], POSITIONS[0])


def test_place_that_is_not_in_the_table_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        _travel().leg("T1", "depot:D", "yard:X")


def test_table_is_square_alike_and_never_negative() -> None:
    square = np.zeros((3, 3), dtype=np.int64)
    for distance_m, drive_s in [(square[:2], square), (square, square[:, :2]), (square, square - 1)]:
        with pytest.raises(ValueRefused):
            Matrix(distance_m, drive_s)


def test_every_place_has_a_row_and_a_position() -> None:
    note = Provenance("straight", "a test", True)
    with pytest.raises(ValueRefused):
        Travel(PLACES[:2], POSITIONS[:2], _matrix(), note)
    with pytest.raises(ValueRefused):
        Travel(PLACES, POSITIONS[:2], _matrix(), note)
