"""A learned number goes into one cell of a table, and every other letter of the file stays."""

from __future__ import annotations

import pytest

from routing.domain.errors import FeedroundError
from routing.files.writing.table_edit import edited_cell

TEXT = (
    "Feeder ID,position,min per colony,note\r\n"
    '"frame ""2""",frame,0.45,"slow, in wind"\r\n'
    "\r\n"
    'trough , top , 0.35 ,"two\r\nlines"\r\n'
    "jar,lid,0.5,\r\n"
)


def changed(text: str, row_id: str, value: str = "0.6") -> str:
    return edited_cell(text, "feeder_id", row_id, "min_per_colony", value)


def test_one_cell_changes_and_all_else_stays() -> None:
    assert changed(TEXT, "trough") == TEXT.replace(" 0.35 ", "0.6")
    assert changed(TEXT, "jar") == TEXT.replace("jar,lid,0.5,", "jar,lid,0.6,")


def test_quoted_cells_and_line_breaks_in_cells_are_no_trouble() -> None:
    assert changed(TEXT, 'frame "2"') == TEXT.replace("0.45", "0.6")


def test_a_byte_order_mark_and_a_missing_last_line_end_stay() -> None:
    text = "\ufefffeeder_id,min_per_colony\njar,0.5"
    assert changed(text, "jar") == "\ufefffeeder_id,min_per_colony\njar,0.6"


def test_an_empty_last_cell_is_filled() -> None:
    assert (
        changed("feeder_id,min_per_colony\njar,\ntub,1\n", "jar")
        == "feeder_id,min_per_colony\njar,0.6\ntub,1\n"
    )


@pytest.mark.parametrize(
    ("text", "row_id"),
    [
        (TEXT, "tub"),
        ("feeder_id,note\njar,\n", "jar"),
        ("feeder_id,min_per_colony\njar,1\njar,2\n", "jar"),
        ("feeder_id,min_per_colony\njar\n", "jar"),
        ("", "jar"),
    ],
)
def test_what_is_not_there_once_is_not_changed(text: str, row_id: str) -> None:
    with pytest.raises(FeedroundError, match="to change"):
        changed(text, row_id)
