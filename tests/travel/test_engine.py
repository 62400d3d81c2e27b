"""The embedded engine: what it needs, what it keeps, and what it says of files that are no extracts."""

from __future__ import annotations

import importlib.util
import shutil
import stat
import sys
from pathlib import Path

import pytest

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.settings import TravelSettings
from routing.travel.choose import travel_for
from routing.travel.engine import build as engine_build
from routing.travel.engine.engine import engine_travel
from tests.support.osm_xml import spot, write_osm
from tests.support.samples import depot, operation, truck, yard

installed = pytest.mark.skipif(
    importlib.util.find_spec("osrm") is None,
    reason="the embedded engine is not installed: pip install 'feedround[engine]'",
)

POINTS = {"a": (0.0, 0.0), "b": (2.0, 0.0), "c": (4.0, 1.0)}
WAYS = [("abc", {"highway": "unclassified"})]


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of the test's own."""
    folder = tmp_path / "cache"
    monkeypatch.setenv("FEEDROUND_CACHE", str(folder))
    return folder


def asks(extract: str, **more: object) -> Operation:
    lat, lon = spot(POINTS["a"])
    settings = TravelSettings(method="engine", extract=extract)
    return operation([yard("c", *spot(POINTS["c"]))], [depot("D1", lat, lon)], travel=settings, **more)


def refusal(extract: str, folder: Path) -> str:
    with pytest.raises(FeedroundError) as error:
        engine_travel(asks(extract), folder)
    text = str(error.value)
    assert "\n" not in text
    return text


def test_without_the_engine_the_message_says_what_to_do(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "osrm", None)
    with pytest.raises(FeedroundError) as error:
        travel_for(asks("area.osm"), tmp_path)
    for words in ("feedround[engine]", 'method = "engine"', 'method = "roads"'):
        assert words in str(error.value)


def test_on_an_older_python_the_message_names_the_python_it_needs(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "osrm", None)
    monkeypatch.setattr(
        "routing.travel.engine.engine.OLDEST_PYTHON", (sys.version_info.major, sys.version_info.minor + 1)
    )
    with pytest.raises(FeedroundError, match=r"Python 3\.12 or later"):
        travel_for(asks("area.osm"), tmp_path)


@installed
@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("absent.osm", None, "there is no such file"),
        ("empty.osm.pbf", b"", "the file is empty"),
        ("roads.graph", b"feedround roads\n", "not built road graphs"),
        ("noise.osm.pbf", b"\x00\x01\x02nothing of the kind" * 50, "the engine cannot read it"),
        (
            "page.osm",
            b"<html><body>404</body></html>",
            "the engine cannot read it (Unknown top-level element",
        ),
        (
            "cut.osm",
            b'<?xml version="1.0"?><osm version="0.6"><node id="1" lat="46',
            "the engine cannot read it",
        ),
        ("noise.osm.bz2", b"BZh9 nothing of the kind", "the engine cannot read it"),
    ],
)
def test_file_that_is_no_extract_is_told_and_leaves_nothing(
    tmp_path: Path, cache: Path, name: str, content: bytes | None, words: str
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    assert words in refusal(name, tmp_path)
    assert name in refusal(name, tmp_path)
    assert not cache.exists() or list(cache.iterdir()) == []


@installed
def test_extract_without_roads_for_trucks_is_told(tmp_path: Path, cache: Path) -> None:
    write_osm(tmp_path / "paths.osm", POINTS, [("abc", {"highway": "footway"})])
    assert "no road that a truck can use" in refusal("paths.osm", tmp_path)
    write_osm(tmp_path / "points.osm", POINTS, [])
    assert "no road that a truck can use" in refusal("points.osm", tmp_path)
    assert list(cache.iterdir()) == []


@installed
def test_missing_name_of_an_extract_is_told(tmp_path: Path) -> None:
    assert "there is no extract" in refusal("", tmp_path)


@installed
def test_yard_outside_the_extract_is_told_with_its_coordinates(tmp_path: Path) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    lat, lon = spot(POINTS["a"])
    far = operation(
        [yard("far", lat + 0.5, lon)],
        [depot("D1", lat, lon)],
        travel=TravelSettings(method="engine", extract="area.osm"),
    )
    with pytest.raises(FeedroundError, match=rf"yard far at {lat + 0.5:.5f}, {lon:.5f}: more than 5 km"):
        engine_travel(far, tmp_path)


@installed
def test_extract_lies_beside_a_workbook(tmp_path: Path) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    (tmp_path / "operation.xlsx").write_bytes(b"")
    assert engine_travel(asks("area.osm"), tmp_path / "operation.xlsx").provenance.method == "engine"


@installed
def test_provenance_has_the_licence_of_the_map_and_is_no_estimate(tmp_path: Path) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    told = engine_travel(asks("area.osm"), tmp_path).provenance
    assert "OpenStreetMap contributors" in told.note
    assert "ODbL" in told.note
    assert not told.estimated


def count_builds(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    steps: list[str] = []
    run = engine_build._run

    def counted(tools: Path, step: str, *more: object) -> None:
        steps.append(step)
        run(tools, step, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(engine_build, "_run", counted)
    return steps


@installed
def test_road_data_is_built_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    steps = count_builds(monkeypatch)
    first = engine_travel(asks("area.osm"), tmp_path)
    assert steps == ["extract", "partition", "customize"]
    second = engine_travel(asks("area.osm"), tmp_path)
    assert len(steps) == 3
    assert (first.matrix.drive_s == second.matrix.drive_s).all()


@installed
def test_changed_extract_is_built_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    steps = count_builds(monkeypatch)
    first = engine_travel(asks("area.osm"), tmp_path).matrix.drive_s
    write_osm(tmp_path / "area.osm", POINTS, [("abc", {"highway": "track"})])
    second = engine_travel(asks("area.osm"), tmp_path).matrix.drive_s
    assert len(steps) == 6
    assert second[0, 1] > first[0, 1]


@installed
def test_trucks_alike_share_their_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    steps = count_builds(monkeypatch)
    engine_travel(
        asks("area.osm", trucks=[truck("T1"), truck("T2"), truck("T3", gvwr_kg=12_000.0)]), tmp_path
    )
    assert len(steps) == 6


@installed
@pytest.mark.parametrize("damage", ["flip", "cut", "remove", "seal"])
def test_damaged_road_data_is_never_used(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch, damage: str
) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    sound = engine_travel(asks("area.osm"), tmp_path).matrix.drive_s
    (kept,) = cache.iterdir()
    victim = kept / "roads.osrm.mldgr"
    data = bytearray(victim.read_bytes())
    if damage == "flip":
        data[len(data) // 2] ^= 1
        victim.write_bytes(data)
    elif damage == "cut":
        victim.write_bytes(data[:-100])
    elif damage == "remove":
        victim.unlink()
    else:
        (kept / "seal.json").write_text("{}")
    steps = count_builds(monkeypatch)
    assert (engine_travel(asks("area.osm"), tmp_path).matrix.drive_s == sound).all()
    assert len(steps) == 3


@installed
def test_building_that_breaks_off_leaves_nothing(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)

    def stopped(tools: Path, step: str, *more: object) -> None:
        if step == "customize":
            raise KeyboardInterrupt

    monkeypatch.setattr(engine_build, "_run", stopped)
    with pytest.raises(KeyboardInterrupt):
        engine_travel(asks("area.osm"), tmp_path)
    assert list(cache.iterdir()) == []


@installed
@pytest.mark.parametrize("said", ["off", "/proc/none/such"])
def test_without_a_cache_it_works_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str
) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(scratch))
    monkeypatch.setenv("FEEDROUND_CACHE", said)
    assert engine_travel(asks("area.osm"), tmp_path).matrix.distance_m[0, 1] > 3000
    assert list(scratch.iterdir()) == []


@installed
def test_kept_data_is_the_users_alone(tmp_path: Path, cache: Path) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    engine_travel(asks("area.osm"), tmp_path)
    (kept,) = cache.iterdir()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o700


@installed
def test_engine_without_its_tools_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    monkeypatch.setattr(shutil, "which", lambda name: None)
    monkeypatch.setattr(Path, "is_file", lambda path: path.name in ("area.osm",) and path.exists())
    assert "not part of the installed engine" in refusal("area.osm", tmp_path)
