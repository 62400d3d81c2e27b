"""From an extract to a road graph: where roads are cut, and what is refused."""

from __future__ import annotations

import bz2
import gzip
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routing.domain.errors import FeedroundError
from routing.travel.graph.file import graph_from_extract, load_graph, open_graph, save_graph
from routing.travel.graph.graph import RoadGraph
from routing.travel.graph.sealed_file import MAGIC, MOST_BYTES
from routing.travel.osm.read import read_extract
from routing.travel.osm.read_share import ReadShare
from tests.support.osm_xml import write_osm
from tests.support.road_maps import ROAD, TRACK, made_graph, metres, real_extract

CROSS = {"w": (0, 1), "m": (1, 1), "e": (2, 1), "n": (1, 2), "s": (1, 0)}


def _same(a: RoadGraph, b: RoadGraph) -> bool:
    names = ("x", "y", "first", "last", "tail", "head", "facts", "roads", "length_m", "node_delay", "no_turn")
    return all(np.array_equal(getattr(a, name), getattr(b, name)) for name in names)


def test_roads_are_cut_where_they_meet_and_nowhere_else(tmp_path: Path) -> None:
    bend = {**CROSS, "b": (1.5, 1.2)}
    graph = made_graph(tmp_path, bend, [("wmbe", ROAD), ("nms", ROAD)])
    assert (graph.edges, graph.nodes) == (4, 5)
    expected = [metres((0, 1), (1, 1)), metres((1, 1), (1.5, 1.2), (2, 1)), metres((1, 2), (1, 1))]
    assert np.allclose(graph.length_m[:3], expected, atol=0.5)


def test_a_bridge_over_a_road_is_no_junction(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, CROSS, [("we", ROAD), ("ns", ROAD)])
    assert (graph.edges, graph.nodes) == (2, 4)


def test_gates_cut_a_road(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, CROSS, [("wme", ROAD)], tags={"m": {"barrier": "gate"}})
    assert graph.edges == 2


def test_roads_cut_off_at_the_edge_of_the_extract_keep_what_is_inside(tmp_path: Path) -> None:
    path = write_osm(tmp_path / "cut.osm", CROSS, [("wme", ROAD)])
    text = path.read_text()
    (line,) = [row for row in text.splitlines() if row.startswith('<node id="1"')]
    path.write_text(text.replace(line, ""))
    graph = graph_from_extract(path)
    assert graph.edges == 1
    assert graph.length_m[0] == pytest.approx(metres((1, 1), (2, 1)), abs=0.5)


def test_packed_extracts_are_read_alike(tmp_path: Path) -> None:
    plain = write_osm(tmp_path / "a.osm", CROSS, [("wme", ROAD), ("nms", TRACK)])
    packed = tmp_path / "a.osm.bz2"
    packed.write_bytes(bz2.compress(plain.read_bytes()))
    assert _same(graph_from_extract(plain), graph_from_extract(packed))


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.osm", b"", "is empty"),
        ("text.osm", b"hello", "not a whole OpenStreetMap file"),
        ("page.osm", b"<html></html>", "not a whole OpenStreetMap file"),
        ("half.osm", b'<osm version="0.6"><node id="1" lat="1" lon="2"/><way id="1">', "not a whole"),
        ("noise.osm.pbf", bytes(range(256)) * 20, "not a whole OpenStreetMap file"),
        (
            "place.osm",
            b'<osm version="0.6"><node id="1" lat="north" lon="2"/></osm>',
            "wrong format for coordinate",
        ),
        ("none.osm", b'<osm version="0.6"></osm>', "there is no road a truck may use"),
        ("roads.csv", b"a,b", "an OpenStreetMap extract ends in"),
        ("half.osm.bz2", bz2.compress(b'<osm version="0.6"></osm>')[:-8], "not a whole OpenStreetMap file"),
    ],
)
def test_what_is_no_extract_is_refused_with_its_own_message(
    tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(FeedroundError, match=words):
        read_extract(tmp_path / name)


def test_missing_and_huge_files_are_refused_before_reading(tmp_path: Path) -> None:
    with pytest.raises(FeedroundError, match="no such file"):
        read_extract(tmp_path / "none.osm.pbf")
    huge = tmp_path / "planet.osm.pbf"
    with huge.open("wb") as file:
        file.truncate(4_000_000_000)
    with pytest.raises(FeedroundError, match="more than a county"):
        read_extract(huge)


def test_share_of_a_file_that_was_read_is_told_while_it_is_open(tmp_path: Path) -> None:
    path = tmp_path / "some.osm"
    path.write_bytes(b"x" * 1000)
    share = ReadShare(path)
    assert share.now() is None
    with path.open("rb", buffering=0) as file:
        assert share.now() == 0.0
        file.read(250)
        assert share.now() == 0.25
        file.read()
        assert share.now() == 1.0
    assert share.now() == 1.0
    assert ReadShare(tmp_path / "none.osm").now() is None


def test_reader_tells_stage_count_and_share_up_to_the_whole(tmp_path: Path) -> None:
    told: list[tuple[str, int, float | None]] = []
    path = write_osm(tmp_path / "a.osm", CROSS, [("wme", ROAD), ("nms", ROAD)])
    graph_from_extract(path, say=lambda *what: told.append(what))
    assert told[-2:] == [("reading roads", 2, 1.0), ("joining roads", 2, None)]
    shares = [share for stage, _, share in told if stage == "reading roads" and share is not None]
    assert shares == sorted(shares)


def test_roads_before_their_points_are_told_from_no_roads(tmp_path: Path) -> None:
    path = write_osm(tmp_path / "a.osm", CROSS, [("wme", ROAD)])
    rows = path.read_text().splitlines()
    nodes = [row for row in rows if row.startswith("<node")]
    others = [row for row in rows if not row.startswith("<node")]
    path.write_text("\n".join([*others[:-1], *nodes, others[-1]]))
    with pytest.raises(FeedroundError, match="sort the file"):
        read_extract(path)


def test_truncated_real_extract_is_refused(tmp_path: Path) -> None:
    half = tmp_path / "half.osm.pbf"
    half.write_bytes(real_extract("rutland.osm.pbf").read_bytes()[:700_000])
    with pytest.raises(FeedroundError, match="not a whole OpenStreetMap file"):
        read_extract(half)


def test_built_file_gives_the_same_graph(tmp_path: Path) -> None:
    ways = [("wm", ROAD), ("me", ROAD), ("nm", TRACK)]
    graph = made_graph(tmp_path, CROSS, ways, no_turns=[(0, "m", 2, "no_left_turn")])
    assert len(graph.no_turn) == 1
    save_graph(graph, tmp_path / "county.roads")
    assert _same(graph, load_graph(tmp_path / "county.roads"))
    assert _same(graph, open_graph(tmp_path / "county.roads"))


def test_built_file_with_one_bit_changed_is_refused(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, CROSS, [("wme", ROAD)])
    path = tmp_path / "county.roads"
    save_graph(graph, path)
    whole = path.read_bytes()
    for at in (20, 90, len(whole) // 2, len(whole) - 1):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        with pytest.raises(FeedroundError, match="damaged"):
            load_graph(path)
    path.write_bytes(whole[:-100])
    with pytest.raises(FeedroundError, match="build it again"):
        load_graph(path)


def test_huge_file_that_begins_like_ours_is_not_read_into_memory(tmp_path: Path) -> None:
    path = tmp_path / "county.roads"
    with path.open("wb") as file:
        file.write(MAGIC)
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(FeedroundError, match="larger than any"):
        open_graph(path)


def test_a_failed_write_leaves_nothing_behind(tmp_path: Path) -> None:
    graph = made_graph(tmp_path, CROSS, [("wme", ROAD)])
    with pytest.raises(FeedroundError, match="cannot write"):
        save_graph(graph, tmp_path / "nowhere" / "county.roads")
    assert [file.name for file in tmp_path.iterdir()] == ["made.osm"]


@pytest.mark.parametrize("pack", [bz2.open, gzip.open])
def test_a_packed_extract_with_an_endless_attribute_is_refused_unread(tmp_path: Path, pack: Any) -> None:
    path = tmp_path / ("a.osm.bz2" if pack is bz2.open else "a.osm.gz")
    with pack(path, "wb") as file:
        file.write(b'<osm version="0.6"><node id="1" lat="1" lon="1"><tag k="note" v="')
        for _ in range(6):
            file.write(b"a" * 2**20)
    with pytest.raises(FeedroundError, match="no map"):
        read_extract(path)
