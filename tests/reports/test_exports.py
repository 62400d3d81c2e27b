"""Files handed on to other tools: complete, well-formed, and harmless when opened."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import datetime
from typing import Any

import gpxpy
import pytest
from openpyxl import load_workbook

from routing.domain.plan import PlanLeg
from routing.domain.units import KG_PER_LB, L_PER_US_GAL, M_PER_MILE
from routing.reports.export.exports import geojson, geojson_text, gpx, stops_csv, workbook
from routing.reports.export.geojson import cut_at_antimeridian
from routing.reports.export.workbook import sheet_titles
from tests.support.builders import Case, big_plan, small_case
from tests.support.odd import ODD_NAMES, odd_case


@pytest.fixture(scope="module")
def case() -> Case:
    return small_case()


def rows_of(case: Case) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(stops_csv(case.operation, case.plan), newline="")))


def features(case: Case, kind: str) -> list[dict[str, Any]]:
    found = geojson(case.operation, case.plan)["features"]
    return [feature for feature in found if feature["properties"]["feature"] == kind]


def positions(coordinates: Any) -> list[list[float]]:
    if isinstance(coordinates[0], float):
        return [coordinates]
    return [position for part in coordinates for position in positions(part)]


@pytest.mark.parametrize("make", [small_case, odd_case, lambda: big_plan(300)])
def test_geojson_keeps_the_rules_of_rfc_7946(make: Any) -> None:
    case = make()
    collection = json.loads(json.dumps(geojson(case.operation, case.plan), allow_nan=False))
    assert set(collection) == {"type", "features"}  # no crs member
    for feature in collection["features"]:
        assert feature["type"] == "Feature"
        assert isinstance(feature["properties"], dict)
        geometry = feature["geometry"]
        # No polygon is written: the right-hand rule has nothing to bind.
        assert geometry["type"] in ("Point", "LineString", "MultiLineString")
        if geometry["type"] == "LineString":
            assert len(geometry["coordinates"]) >= 2
        for lon, lat in positions(geometry["coordinates"]):
            assert -180 <= lon <= 180
            assert -90 <= lat <= 90
            assert (round(lon, 6), round(lat, 6)) == (lon, lat)


def test_geojson_text_is_the_same_collection(case: Case) -> None:
    text = geojson_text(case.operation, case.plan)
    assert json.loads(text) == geojson(case.operation, case.plan)


def test_geojson_puts_longitude_first(case: Case) -> None:
    gate = next(f for f in features(case, "stop") if f["properties"]["place_id"] == "Y2")
    assert gate["geometry"]["coordinates"] == [-100.35, 44.50]


def test_geojson_has_every_stop_every_route_and_every_unserved_yard(case: Case) -> None:
    assert len(features(case, "stop")) == sum(len(route.stops) for route in case.plan.routes)
    assert [f["properties"]["truck_id"] for f in features(case, "route")] == ["BIG", "SMALL"]
    left = {f["properties"]["yard_id"]: f["properties"] for f in features(case, "unserved")}
    for unserved in case.plan.unserved:
        assert left[unserved.yard_id]["reason"] == unserved.reason
        assert left[unserved.yard_id]["remedy"] == unserved.remedy


def test_road_geometry_is_drawn_where_it_is_known(case: Case) -> None:
    route = case.plan.routes[1]
    bent = replace(route.stops[1], leg=replace(route.stops[1].leg, geometry=((-100.4, 44.4), (-100.5, 44.2))))
    plan = replace(case.plan, routes=(replace(route, stops=(route.stops[0], bent, *route.stops[2:])),))
    line = features(Case(case.operation, case.travel, plan), "route")[0]["geometry"]["coordinates"]
    assert line[:3] == [[-100.4, 44.4], [-100.5, 44.2], [-100.6, 44.3]]


def test_a_truck_that_never_moves_has_no_line(case: Case) -> None:
    route = case.plan.routes[1]
    back = replace(route.stops[-1], leg=PlanLeg(0, 0, 0.0))
    plan = replace(case.plan, routes=(replace(route, stops=(route.stops[0], back)),))
    assert not features(Case(case.operation, case.travel, plan), "route")


def test_line_is_cut_at_the_antimeridian() -> None:
    east, west = cut_at_antimeridian([(179.0, 10.0), (-179.0, 12.0), (-178.0, 12.0)])
    assert east == [(179.0, 10.0), (180.0, 11.0)]
    assert west == [(-180.0, 11.0), (-179.0, 12.0), (-178.0, 12.0)]
    assert cut_at_antimeridian([(-179.5, 0.0), (179.5, 0.0)]) == [
        [(-179.5, 0.0), (-180.0, 0.0)],
        [(180.0, 0.0), (179.5, 0.0)],
    ]


def test_gpx_has_a_route_and_a_track_for_every_truck_in_driving_order(case: Case) -> None:
    read = gpxpy.parse(gpx(case.operation, case.plan))
    assert [route.name for route in read.routes] == ["Truck BIG", "Truck SMALL"]
    assert [point.name.split()[0] for point in read.routes[0].points] == [
        "START", "1", "R1", "2", "3", "4", "5", "END",
    ]  # fmt: skip
    line = read.tracks[1].segments[0].points
    assert [(p.latitude, p.longitude) for p in line] == [(44.4, -100.4), (44.3, -100.6), (44.4, -100.4)]


def test_gpx_marks_the_yards_that_are_not_served(case: Case) -> None:
    read = gpxpy.parse(gpx(case.operation, case.plan))
    left = {point.name: point.description for point in read.waypoints if point.type == "unserved"}
    assert left["not fed: Far Butte"].startswith("no truck has time left")
    assert len(left) == len(case.plan.unserved)


def test_gpx_keeps_odd_names() -> None:
    case = odd_case()
    names = " | ".join(point.name for point in gpxpy.parse(gpx(case.operation, case.plan)).waypoints)
    for yard_id in ("Y1", "Y2", "Y3", "Y4", "Y5"):
        assert ODD_NAMES[yard_id] in names


def test_csv_has_one_row_a_stop_and_reads_back(case: Case) -> None:
    rows = rows_of(case)
    stops = [(route, stop) for route in case.plan.routes for stop in route.stops]
    assert len(rows) == len(stops)
    for row, (route, stop) in zip(rows, stops, strict=True):
        assert (row["truck_id"], int(row["seq"]), row["kind"]) == (route.truck_id, stop.seq, stop.kind)
        for name in ("arrive", "begin", "leave"):
            assert datetime.fromisoformat(row[f"{name}_local"]) == getattr(stop, name)
        poured = sum(pour.volume_l for pour in stop.pour)
        assert float(row["poured_l"]) == pytest.approx(poured, abs=0.001)
        assert float(row["poured_gal"]) * L_PER_US_GAL == pytest.approx(poured, abs=0.02)
        assert float(row["distance_mi"]) * M_PER_MILE == pytest.approx(stop.leg.distance_m, abs=9)
        assert float(row["gross_after_lb"]) * KG_PER_LB == pytest.approx(stop.after.gross_kg, abs=0.05)
        assert float(row["lat_deg"]) == pytest.approx(stop.lat, abs=1e-6)


def test_metric_csv_has_no_gallons_and_no_column_twice() -> None:
    case = small_case("metric")
    header = stops_csv(case.operation, case.plan).splitlines()[0].split(",")
    assert len(set(header)) == len(header)
    assert {"poured_l", "distance_km", "gross_after_kg"} <= set(header)
    assert not [name for name in header if name.endswith(("_gal", "_lb", "_mi"))]


def test_csv_keeps_commas_quotes_and_line_breaks() -> None:
    names = {row["place_id"]: row["place_name"] for row in rows_of(odd_case()) if row["kind"] == "yard"}
    for yard_id in ("Y1", "Y2", "Y3", "Y4", "Y5"):
        assert names[yard_id] == ODD_NAMES[yard_id]
    assert names["Y6"] == "First line\nsecond line, with comma\nthird"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r="])
def test_no_text_in_csv_or_workbook_begins_a_formula(case: Case, start: str) -> None:
    text = f"{start}cmd|' /C calc'!A0"
    yards = {k: replace(y, name=text, registration_id=text) for k, y in case.operation.yards.items()}
    odd = Case(replace(case.operation, yards=yards, name=text), case.travel, case.plan)
    for row in rows_of(odd):
        for name in ("place_name", "registration_id", "notes"):
            assert not row[name].startswith(("=", "+", "-", "@", "\t", "\r"))
    book = load_workbook(io.BytesIO(workbook(odd.operation, odd.plan)))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    texts = [cell for cell in cells if isinstance(cell.value, str) and "cmd|" in cell.value]
    assert texts
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in texts)
    parts = zipfile.ZipFile(io.BytesIO(workbook(odd.operation, odd.plan)))
    assert not [n for n in parts.namelist() if n.startswith("xl/worksheets/") and b"<f>" in parts.read(n)]


def test_workbook_has_a_sheet_a_truck_summary_and_unserved(case: Case) -> None:
    book = load_workbook(io.BytesIO(workbook(case.operation, case.plan)))
    assert book.sheetnames == ["summary", "BIG", "SMALL", "unserved", "assumptions"]
    big = book["BIG"]
    header = [cell.value for cell in big[1]]
    assert big.max_row == len(case.plan.routes[0].stops) + 1
    poured = [row[header.index("poured_gal")].value for row in big.iter_rows(min_row=2)]
    assert sum(poured) * L_PER_US_GAL == pytest.approx(case.plan.routes[0].totals.volume_l, abs=0.2)
    arrive = big.cell(3, header.index("arrive_local") + 1).value
    assert arrive == datetime(2025, 9, 16, 7, 36)
    left = [[cell.value for cell in row] for row in book["unserved"].iter_rows(min_row=2)]
    assert [row[0] for row in left] == [u.yard_id for u in case.plan.unserved]


def test_workbook_summary_gives_totals_and_cautions(case: Case) -> None:
    summary = load_workbook(io.BytesIO(workbook(case.operation, case.plan)))["summary"]
    values = [cell.value for row in summary.iter_rows() for cell in row]
    assert case.plan.plan_id in values
    assert round(case.plan.totals.volume_l / L_PER_US_GAL, 2) in values
    for warning in case.plan.warnings:
        assert warning.text in values


def test_workbook_of_the_same_plan_has_the_same_bytes(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    first = workbook(case.operation, case.plan)
    import time

    real = time.time
    monkeypatch.setattr(time, "time", lambda: real() + 86_400 * 40)
    assert workbook(case.operation, case.plan) == first
    core = zipfile.ZipFile(io.BytesIO(first)).read("docProps/core.xml")
    assert b"2025-09-16T00:00:00Z" in core
    assert core.count(b"2025-09-16T00:00:00Z") == 2


def test_sheet_titles_are_allowed_and_never_alike() -> None:
    titles = sheet_titles(["summary", "a/b", "a:b", "A_B", "x" * 40, "x" * 41, "'", "", "蜂[1]"])
    assert len({title.lower() for title in titles} | {"summary"}) == 10
    for title in titles:
        assert 0 < len(title) <= 31
        assert not set(title) & set("[]:*?/\\")
        assert not title.startswith("'")


@pytest.mark.parametrize("make", [odd_case, lambda: big_plan(300)])
def test_every_export_survives_odd_names_and_many_yards(make: Any) -> None:
    case = make()
    assert load_workbook(io.BytesIO(workbook(case.operation, case.plan)))["summary"].max_row > 5
    stops_csv(case.operation, case.plan).encode("utf-8")
    gpx(case.operation, case.plan).encode("utf-8")


def test_plan_without_a_route_exports_what_there_is(case: Case) -> None:
    plan = replace(case.plan, routes=())
    empty = Case(case.operation, case.travel, plan)
    assert rows_of(empty) == []
    assert len(features(empty, "unserved")) == len(plan.unserved)
    assert load_workbook(io.BytesIO(workbook(case.operation, plan))).sheetnames == [
        "summary", "unserved", "assumptions",
    ]  # fmt: skip
