"""Yards bigger than any load are cut into whole colonies; nothing is lost in the cutting."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given
from hypothesis import strategies as st

from routing.domain.ration import Dose
from routing.planning.problem.split import Piece, split_doses


def dose(colonies: int, each_l: float = 5.0, group: str = "all") -> Dose:
    return Dose(group, "frame2", "S67", colonies, each_l, 45.0)


def load(most_l: float) -> Callable[[Piece], float]:
    """The share of a load of some litres."""
    return lambda piece: sum(d.each_l * n for d, n in piece) / most_l


def counts(pieces: list[Piece]) -> list[list[int]]:
    return [[n for _, n in piece] for piece in pieces]


def test_a_yard_that_fits_is_one_visit() -> None:
    assert counts(split_doses([dose(20), dose(10, group="weak")], load(150.0))) == [[20, 10]]


def test_full_loads_come_first_and_the_rest_travels_with_other_yards() -> None:
    assert counts(split_doses([dose(50)], load(100.0))) == [[20], [20], [10]]


def test_a_load_is_filled_up_with_the_next_group() -> None:
    pieces = split_doses([dose(25), dose(25, 2.0, "weak")], load(100.0))
    assert counts(pieces) == [[20], [5, 25]]


def test_a_colony_too_big_for_any_truck_stands_alone_with_its_kind() -> None:
    pieces = split_doses([dose(4), dose(3, 200.0, "tub"), dose(2, group="late")], load(100.0))
    assert counts(pieces) == [[4], [3], [2]]


def test_no_need_is_no_visit() -> None:
    assert split_doses([], load(100.0)) == []


@given(
    st.lists(st.tuples(st.integers(1, 80), st.floats(0.25, 12.0)), min_size=1, max_size=4),
    st.floats(12.0, 900.0),
)
def test_every_colony_is_in_one_piece_and_every_piece_fits(
    groups: list[tuple[int, float]], most_l: float
) -> None:
    doses = [dose(n, each, f"g{i}") for i, (n, each) in enumerate(groups)]
    share = load(most_l)
    pieces = split_doses(doses, share)
    for d in doses:
        assert sum(n for piece in pieces for other, n in piece if other is d) == d.colonies
    assert all(share(piece) <= 1.0 for piece in pieces)
    assert all(n > 0 for piece in pieces for _, n in piece)
