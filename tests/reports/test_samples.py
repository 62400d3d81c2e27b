"""The samples that the README shows are there, small, and need no network."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SAMPLES = sorted(set(re.findall(r"maps/sample_[a-z]+\.[a-z]+", README)))


def test_the_readme_shows_the_map_and_a_sheet() -> None:
    assert SAMPLES == ["maps/sample_map.html", "maps/sample_map.png", "maps/sample_sheet.png"]


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_is_there_and_loads_fast(name: str) -> None:
    assert 20_000 < (ROOT / name).stat().st_size < 400_000


def test_the_sample_map_holds_no_address_and_no_path_of_a_machine() -> None:
    page = (ROOT / "maps" / "sample_map.html").read_text(encoding="utf-8")
    addresses = set(re.findall(r"https?://[^\"'\s<)]+", page))
    assert all(address.startswith("http://www.w3.org/") for address in addresses)
    assert not re.search(r"file:|/home/|/tmp/", page)
