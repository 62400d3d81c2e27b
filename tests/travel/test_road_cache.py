"""Tables kept on disk: never stale, never trusted when damaged, no fault when they cannot be kept."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routing.domain.road_settings import RoadSettings
from routing.domain.travel import Travel
from routing.travel.graph import cache as road_cache
from routing.travel.graph.file import open_graph
from routing.travel.roads import drives as road_drives
from routing.travel.roads.roads import roads_travel
from tests.support.osm_xml import write_osm
from tests.support.road_maps import ROAD, operation_at

POINTS = {"a": (0, 1), "b": (1, 1), "d": (0, 0), "e": (1, 0)}
STREETS = [("ab", ROAD), ("be", ROAD), ("ed", ROAD), ("da", ROAD)]
PLACES = {"base": (0.9, 1), "yard": (0.9, 0)}


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "kept"
    monkeypatch.setenv(road_cache.PLACE, str(folder))
    return folder


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """One entry for each table that was worked out, not recalled."""
    found: list[str] = []
    real = road_drives._make

    def counted(*args: object) -> road_drives.Drives:
        found.append("made")
        return real(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(road_drives, "_make", counted)
    return found


def _travel(extract: Path, **roads: float) -> Travel:
    return roads_travel(operation_at(PLACES, roads=RoadSettings(**roads)), open_graph(extract))


def _alike(a: Travel, b: Travel) -> bool:
    same = np.array_equal(a.matrix.drive_s, b.matrix.drive_s)
    same &= np.array_equal(a.matrix.distance_m, b.matrix.distance_m)
    return same and dict(a.lines) == dict(b.lines)


def _tables(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.table"))


def test_the_same_question_is_answered_from_disk(tmp_path: Path, kept: Path, made: list[str]) -> None:
    extract = write_osm(tmp_path / "a.osm", POINTS, STREETS)
    first, second = _travel(extract), _travel(extract)
    assert made == ["made"]
    assert _alike(first, second)
    assert len(_tables(kept)) == 3  # the graph, what trucks reach on it, and the drives


def test_other_speeds_places_or_roads_are_another_question(
    tmp_path: Path, kept: Path, made: list[str]
) -> None:
    extract = write_osm(tmp_path / "a.osm", POINTS, STREETS)
    slow, fast = _travel(extract, tertiary_km_per_h=30), _travel(extract, tertiary_km_per_h=60)
    assert slow.matrix.drive_s[0, 1] == pytest.approx(2 * fast.matrix.drive_s[0, 1], rel=0.1)
    write_osm(extract, POINTS, [STREETS[0], *STREETS[2:]])
    gone = _travel(extract, tertiary_km_per_h=60)
    assert gone.matrix.distance_m[0, 1] > fast.matrix.distance_m[0, 1]
    moved = roads_travel(operation_at({**PLACES, "yard": (0.3, 0)}), open_graph(extract))
    assert moved.matrix.distance_m[0, 1] != gone.matrix.distance_m[0, 1]
    assert made == ["made"] * 4


def test_a_change_of_the_code_is_another_question(monkeypatch: pytest.MonkeyPatch) -> None:
    before = road_cache.key_of(["a", "b"])
    monkeypatch.setattr(road_cache, "code_digest", lambda: "other code")
    assert road_cache.key_of(["a", "b"]) != before


def test_parts_of_a_name_do_not_run_together() -> None:
    assert road_cache.key_of(["ab", "c"]) != road_cache.key_of(["a", "bc"])


@pytest.mark.parametrize("damage", ["flip", "cut", "empty", "swap"])
def test_damaged_files_are_made_again(tmp_path: Path, kept: Path, made: list[str], damage: str) -> None:
    extract = write_osm(tmp_path / "a.osm", POINTS, STREETS)
    first = _travel(extract)
    files = _tables(kept)
    contents = [file.read_bytes() for file in files]
    for file, other, content in zip(files, contents[1:] + contents[:1], contents, strict=True):
        middle = len(content) // 2
        file.write_bytes(
            {
                "flip": content[:middle] + bytes([content[middle] ^ 4]) + content[middle + 1 :],
                "cut": content[:middle],
                "empty": b"",
                "swap": other,
            }[damage]
        )
    assert _alike(first, _travel(extract))
    assert made == ["made"] * 2
    assert [file.read_bytes() for file in _tables(kept)] != [b""] * 3


def test_nothing_is_kept_where_nothing_can_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: list[str]
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv(road_cache.PLACE, str(blocked / "kept"))
    extract = write_osm(tmp_path / "a.osm", POINTS, STREETS)
    assert _alike(_travel(extract), _travel(extract))
    assert made == ["made"] * 2


def test_keeping_can_be_turned_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: list[str]) -> None:
    monkeypatch.setenv(road_cache.PLACE, "off")
    extract = write_osm(tmp_path / "a.osm", POINTS, STREETS)
    _travel(extract)
    _travel(extract)
    assert made == ["made"] * 2
    assert [file.name for file in tmp_path.iterdir()] == ["a.osm"]


def test_old_tables_make_room(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(road_cache, "MOST_FILES", 3)
    for i in range(6):
        road_cache.remember(f"key{i}", {"a": np.arange(i)})
    assert len(_tables(kept)) == 3


def test_table_under_another_name_is_not_taken(kept: Path) -> None:
    road_cache.remember("one", {"a": np.arange(3)})
    (kept / "one.table").rename(kept / "two.table")
    assert road_cache.recall("two") is None


def test_tables_tell_where_apiaries_are_so_only_the_owner_may_read_them(kept: Path) -> None:
    road_cache.remember("one", {"a": np.arange(3)})
    assert kept.stat().st_mode & 0o077 == 0
    assert (kept / "one.table").stat().st_mode & 0o077 == 0


def test_graph_without_a_source_is_not_kept(tmp_path: Path, kept: Path, made: list[str]) -> None:
    graph = open_graph(write_osm(tmp_path / "a.osm", POINTS, STREETS))
    nameless = replace(graph, meta={})
    before = len(_tables(kept))
    roads_travel(operation_at(PLACES), nameless)
    assert len(_tables(kept)) == before
    assert made == ["made"]


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="modes are those of POSIX")
def test_tables_in_a_folder_that_others_may_write_to_are_not_read(
    tmp_path: Path, kept: Path, made: list[str]
) -> None:
    extract = write_osm(tmp_path / "a.osm", POINTS, STREETS)
    first = _travel(extract)
    before = {file.name: file.read_bytes() for file in kept.iterdir()}
    kept.chmod(0o777)
    assert _alike(first, _travel(extract))
    assert made == ["made"] * 2
    assert {file.name: file.read_bytes() for file in kept.iterdir()} == before
