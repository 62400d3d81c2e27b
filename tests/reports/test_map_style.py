"""Each truck's look."""

from __future__ import annotations

from routing.reports.words.truck_style import letters, style_of
from tests.support.builders import big_plan, small_operation


def test_two_trucks_differ_in_more_than_colour():
    operation = small_operation()
    a, b = (style_of(operation, truck_id) for truck_id in operation.trucks)
    assert a.letter != b.letter
    assert a.shape != b.shape
    assert a.dash != b.dash
    assert a.color != b.color


def test_thirty_trucks_never_share_colour_shape_and_dash():
    operation = big_plan(180).operation
    styles = [style_of(operation, truck_id) for truck_id in operation.trucks]
    assert len(styles) == 30
    assert len({(s.color, s.shape, s.dash) for s in styles}) == 30
    assert len({s.letter for s in styles}) == 30


def test_truck_keeps_its_letter_when_another_stays_at_home():
    assert style_of(small_operation(), "SMALL").letter == "B"


def test_letters_go_on_after_z():
    assert [letters(i) for i in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]
