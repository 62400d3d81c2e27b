"""feedround roads, and days planned on the graph it builds."""

from __future__ import annotations

import bz2
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.support.face import DATE, DEMO, QUICK, Ran, feedround

EXTRACT = DEMO / "roads.osm.bz2"


@pytest.fixture
def county(tmp_path: Path) -> Path:
    """The demo in a folder of its own, to be spoilt."""
    return Path(shutil.copytree(DEMO, tmp_path / "county"))


def _settle(folder: Path, change: Callable[[str], str]) -> None:
    file = folder / "operation.toml"
    file.write_text(change(file.read_text(encoding="utf-8")), encoding="utf-8")


def _roads(folder: Path, change: Callable[[str], str]) -> None:
    file = folder / "roads.osm.bz2"
    file.write_bytes(bz2.compress(change(bz2.decompress(file.read_bytes()).decode()).encode()))


def _plan(folder: Path) -> Ran:
    return feedround("plan", folder, "--date", DATE, *QUICK, "--out", folder.parent / "out", "--json")


def test_graph_is_built_and_told_of(tmp_path: Path) -> None:
    ran = feedround("roads", EXTRACT, "--out", tmp_path / "county.roads", "--attribution", "Ours")
    assert ran.code == 0
    for words in ("Road graph:", "county.roads", "unclassified", "1 stretch with limits", "Licence:    Ours"):
        assert words in ran.out
    assert [file.name for file in tmp_path.iterdir()] == ["county.roads"]


def test_json_has_the_same_numbers(tmp_path: Path) -> None:
    told = json.loads(feedround("roads", EXTRACT, "--out", tmp_path / "c.roads", "--json").out)
    assert told["km"] == pytest.approx(sum(told["km_by_kind"].values()), abs=1)
    assert told["km_connected"] <= told["km"]
    assert told["stretches_with_limits"] == 1
    assert told["attribution"] == "Invented roads of an invented county, no map data of anybody"


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.osm", b"", "empty"), ("a.osm", b"no xml", "not a whole"), ("a.txt", b"x", "ends in"),
        ("a.osm.bz2", EXTRACT.read_bytes()[:9000], "not a whole"),
        ("a.osm", b'<osm version="0.6"></osm>', "no road a truck may use"),
    ],
)  # fmt: skip
def test_bad_extracts_end_in_their_own_message_and_leave_no_file(
    tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    (tmp_path / name).write_bytes(content)
    ran = feedround("roads", tmp_path / name, "--out", tmp_path / "county.roads")
    assert ran.code == 2
    assert words in ran.err
    assert "Traceback" not in ran.err
    assert [file.name for file in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize(
    ("out", "words"),
    [("nowhere/c.roads", "no such folder"), ("c.osm.pbf", "names an extract"), (".", "not a road graph")],
)
def test_bad_targets_are_refused(tmp_path: Path, out: str, words: str) -> None:
    ran = feedround("roads", EXTRACT, "--out", tmp_path / out)
    assert ran.code == 2
    assert words in ran.err
    assert list(tmp_path.iterdir()) == []


def test_day_is_planned_alike_on_the_extract_and_on_its_graph(county: Path) -> None:
    by_extract = json.loads(_plan(county).out)
    assert feedround("roads", county / "roads.osm.bz2", "--out", county / "county.roads").code == 0
    _settle(county, lambda text: text.replace("roads.osm.bz2", "county.roads"))
    by_graph = json.loads(_plan(county).out)
    assert by_graph["totals"]["distance_m"] == by_extract["totals"]["distance_m"]
    assert by_graph["routes"][0]["stops"][1]["leg"] == by_extract["routes"][0]["stops"][1]["leg"]


def test_planned_day_passes_its_audit_read_back(county: Path) -> None:
    assert _plan(county).code in (0, 1)
    ran = feedround("audit", county, county.parent / "out" / "plan.json")
    assert ran.code == 0


def test_yard_outside_the_extract_stops_the_plan_with_its_coordinates(county: Path) -> None:
    yards = county / "yards.csv"
    yards.write_text(yards.read_text().replace("46.88961,-108.32228", "47.48961,-108.32228"))
    ran = feedround("plan", county, "--date", DATE, *QUICK, "--out", county.parent / "out")
    assert ran.code == 2
    assert "47.48961, -108.32228" in ran.err
    assert "mi from the nearest road" in ran.err
    assert not (county.parent / "out").exists()


def test_yard_that_only_the_light_truck_reaches_is_fed_by_it_or_says_so(county: Path) -> None:
    # Every road to Gumbo Hill passes its track: posted, it closes to the heavy truck.
    _roads(county, lambda xml: xml.replace('<tag k="surface" v="clay"/>', '<tag k="maxweight" v="7"/>'))
    yards = county / "yards.csv"
    yards.write_text(re.sub(r"^(Y29,.*?),17000,", r"\1,,", yards.read_text(), flags=re.MULTILINE))
    plan = json.loads(_plan(county).out)
    (warning,) = [w for w in plan["warnings"] if w["code"] == "no_road_for_truck"]
    assert warning["place_id"] == "Y29"
    by = {route["truck_id"] for route in plan["routes"] for s in route["stops"] if s["place_id"] == "Y29"}
    assert by <= {"light"}


def test_yard_that_no_truck_reaches_is_left_with_reason_and_remedy(county: Path) -> None:
    _roads(county, lambda xml: xml.replace('<tag k="surface" v="clay"/>', '<tag k="maxweight" v="3"/>'))
    plan = json.loads(_plan(county).out)
    codes = {w["code"] for w in plan["warnings"] if w["place_id"] == "Y29"}
    # The track is left to nobody, so the yard is planned from the road below it.
    assert codes == {"island_road"}


def test_wet_ground_moves_a_yard_to_the_last_firm_road(county: Path) -> None:
    _settle(county, lambda text: text.replace("[roads]", '[roads]\nground = "wet"'))
    plan = json.loads(_plan(county).out)
    moved = {w["place_id"] for w in plan["warnings"] if w["code"] in ("island_road", "far_from_road")}
    assert {"Y24", "Y29"} <= moved


def test_straight_day_beside_a_road_graph_rests_on_the_circuity_measured_there(county: Path) -> None:
    _settle(county, lambda text: re.sub(r"(?m)^circuity.*$", "", text.replace('"roads"', '"straight"')))
    plan = json.loads(_plan(county).out)
    circuity = plan["assumptions"]["travel.circuity"]
    assert circuity["source"].startswith("measured on roads.osm.bz2 between ")
    assert f"straight lines x {circuity['value']:g} (circuity)" in plan["travel"]
    file = county.parent / "out" / "plan.json"
    assert feedround("audit", county, file).code == 0
    written = file.read_text(encoding="utf-8")
    spoilt = {**json.loads(written)["assumptions"]["travel.circuity"], "value": 1.3}
    changed = json.loads(written)
    changed["assumptions"]["travel.circuity"] = spoilt
    file.write_text(json.dumps(changed), encoding="utf-8")
    ran = feedround("audit", county, file)
    assert ran.code == 1
    assert "travel.circuity = 1.3" in ran.out


@pytest.mark.parametrize("content", [b"", b"feedround roads\n" + b"0" * 64 + b"\nxx", b"PK\x03\x04"])
def test_damaged_graph_stops_the_plan_without_a_traceback(county: Path, content: bytes) -> None:
    (county / "county.roads").write_bytes(content)
    _settle(county, lambda text: text.replace("roads.osm.bz2", "county.roads"))
    ran = _plan(county)
    assert ran.code == 2
    assert "county.roads" in ran.err
    assert "build" in ran.err
    assert "Traceback" not in ran.err


def test_check_tells_of_yards_off_the_road_and_of_yards_outside_the_extract(county: Path) -> None:
    yards = county / "yards.csv"
    whole = yards.read_text()
    yards.write_text(whole.replace("46.88961,-108.32228", "46.88961,-108.33228"))
    ran = feedround("check", county, "--date", DATE)
    assert ran.code == 0
    assert "Shelterbelt" in ran.out
    assert "46.88961, -108.33228" in ran.out
    (warned,) = json.loads(feedround("check", county, "--date", DATE, "--json").out)["warnings"]
    assert warned["wrong"].endswith("the rest is planned at 5 mph")
    assert warned["remedy"] == "check the coordinates"
    yards.write_text(whole.replace("46.88961,-108.32228", "47.48961,-108.32228"))
    told = json.loads(feedround("check", county, "--json").out)
    assert [problem["code"] for problem in told["errors"]] == ["far_from_road"]


def _hills(county: Path) -> None:
    """A grid with a ridge from north to south through the county, in the operation folder."""
    rows, columns, step = 60, 110, 0.01
    row = " ".join(f"{900 + 6 * abs(55 - column)}" for column in range(columns))
    head = f"ncols {columns}\nnrows {rows}\nxllcorner -108.9\nyllcorner 46.55\ncellsize {step}\n"
    (county / "hills.asc").write_text(head + "\n".join([row] * rows), encoding="ascii")
    _settle(county, lambda text: text.replace("[roads]", '[roads]\nelevation = "hills.asc"'))


def test_day_over_hills_takes_more_fuel_and_says_so(county: Path) -> None:
    level = json.loads(_plan(county).out)
    _hills(county)
    ran = _plan(county)
    plan = json.loads(ran.out)
    assert plan["totals"]["fuel_l"] > 1.02 * level["totals"]["fuel_l"]
    assert "Fuel counts climbs by the heights of hills.asc" in plan["travel"]
    assert plan["assumptions"]["roads.elevation"]["value"] == "hills.asc"
    legs = [stop["leg"] for route in plan["routes"] for stop in route["stops"]]
    assert sum(leg.get("climb_m", 0) for leg in legs) > 200
    assert not any("climb_m" in stop["leg"] for route in level["routes"] for stop in route["stops"])
    out = county.parent / "out"
    assert "of climbing in it" in (out / "map.html").read_text(encoding="utf-8")
    sheet = f"run_sheet_{plan['routes'][0]['truck_id']}.html"
    assert "of climbing in it" in (out / sheet).read_text(encoding="utf-8")
    assert feedround("audit", county, out / "plan.json").code == 0


def test_plan_that_makes_light_of_a_hill_is_found_out(county: Path) -> None:
    _hills(county)
    _plan(county)
    file = county.parent / "out" / "plan.json"
    plan = json.loads(file.read_text(encoding="utf-8"))
    leg = next(s["leg"] for r in plan["routes"] for s in r["stops"] if s["leg"].get("climb_m", 0) > 20)
    leg["climb_m"] -= 10
    file.write_text(json.dumps(plan), encoding="utf-8")
    ran = feedround("audit", county, file)
    assert ran.code == 1
    assert "climb" in ran.out


@pytest.mark.parametrize(
    ("content", "words"),
    [(None, "cannot be read"), ("", "not an elevation grid"), ("ncols 3\nnrows 3\n", "no cellsize")],
)
def test_grid_that_is_missing_or_damaged_stops_the_plan(
    county: Path, content: str | None, words: str
) -> None:
    _hills(county)
    (county / "hills.asc").unlink()
    if content is not None:
        (county / "hills.asc").write_text(content)
    ran = _plan(county)
    assert ran.code == 2
    assert words in ran.err
    assert "Traceback" not in ran.err
