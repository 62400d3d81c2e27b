"""Real OSRM and Valhalla servers, as their wheels bring them, asked over HTTP on hand-made roads."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from routing.domain.operation import Operation
from routing.domain.road_settings import RoadSettings
from routing.domain.settings import TravelSettings
from routing.travel.engine.build import road_data
from routing.travel.engine.engine import engine_travel
from routing.travel.engine.profile import profile_text
from routing.travel.leg_lines import with_lines
from routing.travel.server.server import server_travel
from tests.support.osm_xml import Grid, spot, write_osm
from tests.support.samples import depot, operation, truck, yard

ROAD = {"highway": "unclassified"}
POINTS: dict[str, Grid] = {
    "a": (0, 0), "b": (2, 0), "c": (4, 0), "d": (6, 0), "p": (2, 3), "q": (4, 3), "e": (6, 2), "n": (0, 3),
}  # fmt: skip
WAYS = [
    ("ab", ROAD), ("bc", {**ROAD, "maxweight": "7.5"}), ("cd", ROAD), ("bpqc", ROAD),
    ("de", {"highway": "track"}), ("an", {**ROAD, "oneway": "yes"}), ("np", ROAD),
]  # fmt: skip
"""A bridge b c of 7.5 t with a way round it, a farm track d e, a one-way street a n."""

FLEET = [truck("heavy", gvwr_kg=12_000.0), truck("light", gvwr_kg=3_400.0, tare_kg=2_200.0)]


def asks(url: str, kind: str) -> Operation:
    lat, lon = spot(POINTS["a"])
    settings = TravelSettings(method="server", server_url=url, server_kind=kind)
    yards = [yard(name, *spot(POINTS[name])) for name in "cden"]
    return operation(yards, [depot("D1", lat, lon)], FLEET, travel=settings)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def serve(command: list[str], port: int, folder: Path) -> Iterator[str]:
    """A server until the test is over; its address once it answers."""
    with (
        (folder / "server.log").open("wb") as log,
        subprocess.Popen(command, cwd=folder, stdout=log, stderr=subprocess.STDOUT) as server,
    ):
        try:
            for _ in range(100):
                with socket.socket() as probe:
                    if probe.connect_ex(("127.0.0.1", port)) == 0:
                        break
                assert server.poll() is None, (folder / "server.log").read_text(errors="replace")
                time.sleep(0.1)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.kill()


@pytest.fixture(scope="module")
def osrm_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """OSRM's own server over data built with our truck profile, for the heavy truck."""
    osrm = pytest.importorskip("osrm", reason="OSRM is not installed: pip install 'feedround[engine]'")
    folder = tmp_path_factory.mktemp("osrm")
    extract = write_osm(folder / "area.osm", POINTS, WAYS)
    home = Path(osrm.__file__).parent
    profile = profile_text(FLEET[0], RoadSettings(), home / "share" / "profiles")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FEEDROUND_CACHE", str(folder / "cache"))
        with road_data(extract, profile, home / "bin", "test") as base:
            port = free_port()
            command = [
                str(home / "bin" / "osrm-routed"),
                "-a",
                "MLD",
                "-i",
                "127.0.0.1",
                "-p",
                str(port),
                str(base),
            ]
            yield from serve(command, port, folder)


@pytest.fixture(scope="module")
def valhalla_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Valhalla's own server over the same roads."""
    valhalla = pytest.importorskip("valhalla", reason="Valhalla is not installed: pip install pyvalhalla")
    osmium = pytest.importorskip("osmium")
    folder = tmp_path_factory.mktemp("valhalla")
    extract = write_osm(folder / "area.osm", POINTS, WAYS)
    with osmium.SimpleWriter(str(folder / "area.osm.pbf")) as writer:
        for thing in osmium.FileProcessor(str(extract)):
            writer.add(thing)
    tools, port = Path(valhalla.__file__).parent / "bin", free_port()
    built = subprocess.run(
        [sys.executable, "-m", "valhalla.valhalla_build_config", "--mjolnir-tile-dir", str(folder / "tiles")],
        capture_output=True, check=True,
    )  # fmt: skip
    config = json.loads(built.stdout)
    config["mjolnir"] |= {"admin": "", "timezone": "", "tile_extract": ""}
    config["httpd"]["service"] |= {
        "listen": f"tcp://127.0.0.1:{port}",
        "loopback": f"ipc://{folder}/loopback",
        "interrupt": f"ipc://{folder}/interrupt",
    }
    (folder / "config.json").write_text(json.dumps(config))
    subprocess.run(
        [str(tools / "valhalla_build_tiles"), "-c", "config.json", "area.osm.pbf"],
        cwd=folder, capture_output=True, check=True,
    )  # fmt: skip
    yield from serve([str(tools / "valhalla_service"), "config.json", "1"], port, folder)


def km(travel: Any, truck_id: str, a: str, b: str) -> float:
    return float(travel.leg(truck_id, a, b).distance_m) / 1000


def test_osrm_server_and_embedded_engine_give_the_same_tables(
    osrm_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    served = server_travel(asks(osrm_url, "osrm"))
    monkeypatch.setenv("FEEDROUND_CACHE", str(tmp_path / "cache"))
    write_osm(tmp_path / "area.osm", POINTS, WAYS)
    asked = asks(osrm_url, "osrm")
    embedded = operation(
        asked.yards.values(), asked.depots.values(), FLEET[:1],
        travel=TravelSettings(method="engine", extract="area.osm"),
    )  # fmt: skip
    within = engine_travel(embedded, tmp_path)
    assert (served.matrix.distance_m == within.matrix.distance_m).all()
    assert (served.matrix.drive_s == within.matrix.drive_s).all()
    assert served.matrix.distance_m[0, 1] > 9_000  # c lies beyond the bridge: the way round


def test_line_of_an_osrm_server_follows_the_road(osrm_url: str) -> None:
    asked = asks(osrm_url, "osrm")
    travel = with_lines(asked, server_travel(asked), [("heavy", "depot:D1", "yard:c")])
    line = travel.leg("heavy", "depot:D1", "yard:c").geometry
    lat, lon = spot(POINTS["q"])
    assert any(abs(x - lon) < 1e-5 and abs(y - lat) < 1e-5 for x, y in line)


def test_heavy_truck_goes_round_the_bridge_and_the_light_one_crosses_it_by_valhalla(
    valhalla_url: str,
) -> None:
    travel = server_travel(asks(valhalla_url, "valhalla"))
    step = 0.7627
    assert km(travel, "light", "depot:D1", "yard:d") == pytest.approx(6 * step, rel=0.01)
    assert km(travel, "heavy", "depot:D1", "yard:d") == pytest.approx(6 * step + 6 * 1.112, rel=0.01)


def test_valhalla_drives_farm_tracks_and_keeps_to_one_way_streets(valhalla_url: str) -> None:
    travel = server_travel(asks(valhalla_url, "valhalla"))
    assert km(travel, "light", "yard:d", "yard:e") == pytest.approx(2 * 1.112, rel=0.01)
    assert km(travel, "light", "depot:D1", "yard:n") == pytest.approx(3 * 1.112, rel=0.01)
    assert km(travel, "light", "yard:n", "depot:D1") == pytest.approx(4 * 0.7627 + 3 * 1.112, rel=0.01)


def test_lines_of_a_valhalla_server_differ_by_truck(valhalla_url: str) -> None:
    asked = asks(valhalla_url, "valhalla")
    legs = [(t, "depot:D1", "yard:d") for t in ("heavy", "light")]
    travel = with_lines(asked, server_travel(asked), legs)
    lat, lon = spot(POINTS["q"])
    by_q = [
        any(abs(x - lon) < 1e-5 and abs(y - lat) < 1e-5 for x, y in travel.leg(*leg).geometry) for leg in legs
    ]
    assert by_q == [True, False]
