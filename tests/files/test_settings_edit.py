"""A learned number goes into operation.toml, and every other letter of the file stays."""

from __future__ import annotations

import tomllib

import pytest

from routing.domain.errors import FeedroundError
from routing.files.settings.edit import edited

TEXT = """\
# Our operation. Do not lose this comment.
[operation]
name = "Ridge [travel] Road"   # speed_mph = 9

[travel]
method = "straight"
speed_mph = 53   # measured with the old truck
circuity = 1.3

[feeding]
margin=0.03
"""


def test_one_number_changes_and_all_else_stays() -> None:
    text, line = edited(TEXT, "travel", "speed_km_per_h", 45 * 1.609344, "us")
    assert text == TEXT.replace("speed_mph = 53 ", "speed_mph = 45 ")
    assert line == "speed_mph = 45   # measured with the old truck"


def test_the_key_keeps_the_unit_it_is_written_in() -> None:
    text, _ = edited(TEXT, "travel", "speed_km_per_h", 80.0, "metric")
    assert tomllib.loads(text)["travel"]["speed_mph"] == pytest.approx(49.71)


def test_a_key_that_is_not_there_is_added_to_its_section_in_the_operations_unit() -> None:
    text, line = edited(TEXT.replace("speed_mph = 53   # measured with the old truck\n", ""),
                        "travel", "speed_km_per_h", 80.0, "metric")  # fmt: skip
    assert line == "speed_kmh = 80"
    assert "circuity = 1.3\nspeed_kmh = 80\n\n[feeding]" in text


def test_a_section_that_is_not_there_is_added_at_the_end() -> None:
    text, line = edited(TEXT, "work", "wash_s", 2460.0, "us")
    assert text == TEXT + "\n[work]\nwash_min = 41\n"
    assert line == "wash_min = 41"


@pytest.mark.parametrize("cut", ["", "\n"])
def test_the_last_section_may_end_without_a_line_feed(cut: str) -> None:
    text, _ = edited(TEXT.rstrip("\n") + cut, "feeding", "min_dose_l", 0.5, "metric")
    assert tomllib.loads(text)["feeding"] == {"margin": 0.03, "min_dose_l": 0.5}


def test_the_line_endings_of_another_system_stay() -> None:
    text, _ = edited(TEXT.replace("\n", "\r\n"), "feeding", "margin", 0.051, "us")
    assert text == TEXT.replace("margin=0.03", "margin=0.051").replace("\n", "\r\n")
    text, _ = edited(TEXT.replace("\n", "\r\n"), "work", "wash_s", 1800, "us")
    assert "\n" not in text.replace("\r\n", "")


@pytest.mark.parametrize(
    "odd",
    [
        TEXT.replace("[travel]\n", "[travel]\nnote = '''\nspeed_mph = 1\n'''\n", 1),
        TEXT.replace("speed_mph", '"speed_mph"'),
        'travel.speed_mph = 53\n[feeding]\nmargin = "x"\n',
        'travel = { speed_mph = 53 }\n',
        TEXT.replace("margin=0.03", "margin=0.03 = 4"),
    ],
)  # fmt: skip
def test_a_file_written_in_an_odd_way_is_left_for_its_keeper(odd: str) -> None:
    with pytest.raises(FeedroundError, match="by hand"):
        edited(odd, "travel", "speed_km_per_h", 80.0, "us")
