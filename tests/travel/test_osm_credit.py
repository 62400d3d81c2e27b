"""Whose map data an extract holds is told by the extract where it can, and never made up."""

from __future__ import annotations

import bz2
import gzip
from pathlib import Path

import pytest

from routing.travel.osm.credit import OSM_ATTRIBUTION, credit_of

OURS = '<?xml version="1.0"?>\n<osm version="0.6" copyright="Ours &amp; yours">\n</osm>\n'


@pytest.mark.parametrize(
    ("name", "packed"), [("a.osm", bytes), ("a.osm.bz2", bz2.compress), ("a.osm.gz", gzip.compress)]
)
def test_an_extract_that_names_its_owner_is_believed(tmp_path: Path, name: str, packed: object) -> None:
    file = tmp_path / name
    file.write_bytes(packed(OURS.encode()))  # type: ignore[operator]
    assert credit_of(file) == "Ours & yours"


@pytest.mark.parametrize(
    "head",
    [
        '<osm version="0.6">',
        '<osm version="0.6" copyright="">',
        "<osm version='0.6' copyright='OpenStreetMap and contributors'>",
        '<osm version="0.6"><node id="1" copyright="Ours"/>',
        "no xml at all",
    ],
)
def test_an_extract_that_names_nobody_else_is_openstreetmaps(tmp_path: Path, head: str) -> None:
    file = tmp_path / "a.osm"
    file.write_text(head)
    assert credit_of(file) == OSM_ATTRIBUTION


def test_a_binary_or_broken_extract_is_openstreetmaps(tmp_path: Path) -> None:
    for name in ("a.osm.pbf", "a.osm.bz2", "a.osm.gz"):
        (tmp_path / name).write_bytes(OURS.encode())
        assert credit_of(tmp_path / name) == OSM_ATTRIBUTION
