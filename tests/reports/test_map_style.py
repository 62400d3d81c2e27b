"""Each truck's look."""

from __future__ import annotations

from routing.reports.words.truck_style import letters, style_of
from tests.support.builders import big_plan, small_operation


def test_two_trucks_differ_in_more_than_colour():
    operation = small_operation()
    a, b = (style_of(operation, truck_id) for truck_id in operation.trucks)
    assert a.letter != b.letter
    assert a.shape != b.shape
    assert a.color != b.color


def test_thirty_trucks_never_share_colour_and_shape():
    operation = big_plan(180).operation
    styles = [style_of(operation, truck_id) for truck_id in operation.trucks]
    assert len(styles) == 30
    assert len({(s.color, s.shape) for s in styles}) == 30
    assert len({s.letter for s in styles}) == 30


def test_truck_keeps_its_letter_when_another_stays_at_home():
    assert style_of(small_operation(), "SMALL").letter == "B"


def test_letters_that_read_as_digits_or_as_quarantine_are_left_out():
    assert [letters(i) for i in (0, 7, 8, 12, 13, 14, 15, 22, 23, 24)] == [
        *("A", "H", "J", "N", "P", "R", "S", "Z", "AA", "AB"),
    ]
    assert not {"I", "O", "Q"} & set("".join(letters(i) for i in range(2000)))
