from __future__ import annotations

import math
from dataclasses import fields, is_dataclass, replace
from datetime import date, time
from pathlib import Path
from typing import Any

import pytest

from routing.domain.clock import TimeWindow
from routing.domain.errors import InputError
from routing.domain.operation import Operation
from routing.domain.places import Health
from routing.domain.supplies import Risk
from routing.files.operation.folder import read_operation
from tests.support.folders import (
    TOML_METRIC,
    TOML_US,
    metric_tables,
    us_tables,
    write_folder,
    write_workbook,
)

DAY = date(2026, 9, 12)


def read(path: Path) -> Operation:
    operation, warnings = read_operation(path, day=DAY)
    assert warnings == ()
    return operation


def same(a: Any, b: Any) -> bool:
    """Equal, with numbers to one part in a hundred million."""
    if isinstance(a, float) and isinstance(b, (int, float)):
        return math.isclose(a, b, rel_tol=1e-8, abs_tol=1e-8)
    if is_dataclass(a):
        return type(a) is type(b) and all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, dict):
        return list(a) == list(b) and all(same(a[key], b[key]) for key in a)
    if isinstance(a, tuple):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    return bool(a == b)


def test_us_and_metric_folders_are_the_same_operation(tmp_path: Path) -> None:
    us = read(write_folder(tmp_path / "us", us_tables()))
    metric = read(write_folder(tmp_path / "metric", metric_tables(), TOML_METRIC))
    assert us.syrups["thick"].price_per_l == 1.0
    for f in fields(us):
        assert same(getattr(us, f.name), getattr(metric, f.name)), f.name


def test_units_of_both_families_may_be_mixed_in_one_table(tmp_path: Path) -> None:
    tables = us_tables()
    truck = tables["trucks"][0]
    truck["tare_kg"] = truck.pop("tare_lb") * 0.45359237
    tables["yards"][0]["max_gross_kg"] = 9000
    operation = read(write_folder(tmp_path, tables))
    assert operation.trucks["T1"].tare_kg == pytest.approx(5896.7008, abs=1e-4)
    assert operation.yards["oak"].max_gross_kg == 9000
    assert operation.yards["elm"].max_gross_kg == pytest.approx(26000 * 0.45359237)


def test_values_arrive_in_si(tmp_path: Path) -> None:
    operation = read(write_folder(tmp_path, us_tables()))
    truck = operation.trucks["T1"]
    assert truck.fuel_empty_l_per_km == pytest.approx(235.214583 / 10 / 100, rel=1e-8)
    assert truck.pump_l_per_s == pytest.approx(12 * 3.785411784 / 60)
    assert operation.feeders["frame2"].service_s == 48.0
    assert operation.depots["home"].setup_s == 300
    assert operation.depots["co-op"].stock[0].from_s == 10 * 3600
    assert operation.feeding.min_feed_c == pytest.approx(10.0)
    assert operation.syrups["thick"].solids == pytest.approx(0.667)
    assert operation.groups[2].flow_kg_per_day == pytest.approx(0.226796185)


def test_what_is_left_empty_gets_its_default(tmp_path: Path) -> None:
    operation = read(write_folder(tmp_path, us_tables()))
    oak = operation.yards["oak"]
    assert (oak.health, oak.setup_s, oak.level, oak.trucks) == (Health.CLEAN, 600, True, ())
    assert operation.yards["ash"].health is Health.QUARANTINE
    assert operation.depots["home"].stock[1].on_hand_l is None
    assert [group.group for group in operation.groups] == ["all", "all", "all"]
    assert {group.syrup_id for group in operation.groups} == {"thick"}


def test_a_feeder_is_as_its_position_unless_told_otherwise(tmp_path: Path) -> None:
    tables = us_tables()
    tables["feeders"] += [
        {"feeder_id": "tub", "position": "communal", "capacity_gal": 50, "min_per_colony": 0.1},
        {
            "feeder_id": "jar",
            "position": "entrance",
            "capacity_gal": 0.25,
            "min_per_colony": 1,
            "spills": "yes",
        },
        {"feeder_id": "top", "position": "TOP", "capacity_gal": 3, "min_per_colony": 1, "opens_hive": "No"},
    ]
    feeders = read(write_folder(tmp_path, tables)).feeders
    assert (feeders["frame2"].opens_hive, feeders["frame2"].drowning) == (True, Risk.HIGH)
    assert feeders["tub"].robbing is Risk.HIGH
    assert feeders["jar"].spills is Risk.HIGH
    assert (feeders["top"].opens_hive, feeders["top"].tilt_derate) == (False, 0.25)
    assert feeders["pail"].swapped
    assert not feeders["frame2"].swapped


def test_a_full_truck_without_a_figure_drives_four_fifths_of_the_miles(tmp_path: Path) -> None:
    tables = us_tables()
    tables["trucks"][0].pop("mpg_full")
    tables["trucks"][0].pop("end_depot")
    truck = read(write_folder(tmp_path, tables)).trucks["T1"]
    assert truck.fuel_full_l_per_km == pytest.approx(truck.fuel_empty_l_per_km / 0.8)
    assert truck.end_depot == "home"


def test_overtime_without_a_rate_is_time_and_a_half(tmp_path: Path) -> None:
    operation = read(write_folder(tmp_path, us_tables()))
    assert operation.cost.overtime_per_h == 36.0
    assert "cost.overtime_per_h" not in operation.given


def test_settings_typed_are_told_from_defaults(tmp_path: Path) -> None:
    operation = read(write_folder(tmp_path, us_tables()))
    assert {
        "feeding.conversion",
        "feeding.target_stores_kg",
        "cost.fuel_per_l",
        "shift.window",
    } <= operation.given
    assert "travel.circuity" not in operation.given
    assert operation.assumptions()["feeding.conversion"].source == "given in operation.toml"


@pytest.mark.parametrize(
    ("section", "line", "field", "value"),
    [
        ("shift", "max_h = 9.5", "max_s", 34200),
        ("shift", "break_min = 45", "break_s", 2700),
        ("shift", 'break_clock = "driving"', "break_clock", "driving"),
        ("shift", "leave_by_window = false", "leave_by_window", False),
        ("feeding", "late_from = 17:30:00", "late_from_s", 63000),
        ("feeding", 'late_from = "17:30"', "late_from_s", 63000),
        ("feeding", "temperature_f = 68", "temperature_c", 20.0),
        ("feeding", 'communal = "Yes"', "communal", True),
        ("feeding", "build_gal_per_day = 0.1", "build_l_per_day", 0.378541178),
        ("feeding", "deep_frame_lb = 7", "deep_frame_kg", 3.17514659),
        ("feeding", "stale_days = 30", "stale_days", 30),
        ("travel", "speed_mph = 50", "speed_km_per_h", 80.4672),
        ("work", "pail_lb = 2", "pail_kg", 0.90718474),
        ("work", "wash_min = 40", "wash_s", 2400),
        ("work", "quarantine_permit = true", "quarantine_permit", True),
        ("work", "enter_quarantine = true", "quarantine_permit", True),
        ("work", 'emergency_number = "911"', "emergency_number", "911"),
        ("cost", "co2_kg_per_gal = 10.21", "co2_kg_per_l", 2.697196),
        ("cost", "balance_per_h = 5", "balance_per_h", 5.0),
    ],
)
def test_every_kind_of_setting_can_be_set(
    tmp_path: Path, section: str, line: str, field: str, value: object
) -> None:
    toml = TOML_US if f"[{section}]" in TOML_US else f"{TOML_US}\n[{section}]\n"
    toml = toml.replace(f"[{section}]\n", f"[{section}]\n{line}\n")
    operation = read(write_folder(tmp_path, us_tables(), toml))
    found = getattr(getattr(operation, section), field)
    assert found == (pytest.approx(value, rel=1e-6) if isinstance(value, float) else value)
    assert f"{section}.{field}" in operation.given


def test_every_field_of_the_settings_has_a_key() -> None:
    from routing.files.columns.settings import SECTIONS, SETTINGS_TYPES

    for section, kind in SETTINGS_TYPES.items():
        keys = {column.field for column in SECTIONS[section].columns} - {"start_s", "end_s"}
        assert {f.name for f in fields(kind)} - {"window"} == keys


def test_groups_of_a_yard_stand_side_by_side(tmp_path: Path) -> None:
    tables = us_tables()
    strong = tables["colonies"][0]
    tables["colonies"] += [
        {**strong, "colonies": 6, "strength_frames": 3, "stores_lb": 15},
        {**strong, "colonies": 2, "strength_frames": 2, "stores_lb": 5, "group": "nucs"},
    ]
    operation = read(write_folder(tmp_path, tables))
    groups = operation.groups_of("oak")
    assert [(group.group, group.colonies) for group in groups] == [("1", 24), ("2", 6), ("nucs", 2)]


def test_of_several_inspections_the_newest_counts(tmp_path: Path) -> None:
    tables = us_tables()
    tables["colonies"].insert(0, {**tables["colonies"][0], "date": "2026-08-20", "colonies": 99})
    tables["colonies"].append({**tables["colonies"][2], "date": "2026-09-11", "colonies": 7})
    operation = read(write_folder(tmp_path, tables))
    assert [group.colonies for group in operation.groups_of("oak")] == [24]
    assert [group.colonies for group in operation.groups_of("elm")] == [7]


def test_a_yard_that_died_out_needs_no_judgement_of_stores(tmp_path: Path) -> None:
    tables = us_tables()
    tables["colonies"][0] |= {"colonies": 0, "stores_lb": "", "date": "2026-03-01"}
    operation = read(write_folder(tmp_path, tables))
    assert [group.colonies for group in operation.groups_of("oak")] == [0]


def test_hours_may_cross_midnight(tmp_path: Path) -> None:
    toml = TOML_US.replace('start = "06:00"', 'start = "20:30"').replace('end = "20:00"', 'end = "05:30"')
    tables = us_tables()
    tables["yards"][0]["windows"] = "21:00-03:00"
    tables["yards"][1]["windows"] = "00:30-04:00; 22:00 - 24:00"
    tables["depots"][1]["windows"] = "00:00-24:00"
    operation = read(write_folder(tmp_path, tables, toml))
    assert operation.shift.window == TimeWindow(20 * 3600 + 1800, 29 * 3600 + 1800)
    assert operation.yards["oak"].windows == (TimeWindow(21 * 3600, 27 * 3600),)
    assert operation.yards["elm"].windows == (TimeWindow(1800, 4 * 3600), TimeWindow(22 * 3600, 24 * 3600))
    assert operation.depots["co-op"].windows == (TimeWindow(0, 24 * 3600),)


def test_a_truck_may_have_its_own_shift_and_dates(tmp_path: Path) -> None:
    tables = us_tables()
    tables["trucks"][0] |= {"start": "21:00", "end": "04:00", "available": "2026-09-12;2026-09-20/2026-09-22"}
    for row in tables["yards"] + tables["depots"]:
        row["windows"] = ""
    truck = read(write_folder(tmp_path, tables)).trucks["T1"]
    assert truck.shift == TimeWindow(21 * 3600, 28 * 3600)
    assert [day.day for day in truck.available] == [12, 20, 21, 22]


def test_half_a_shift_takes_the_other_half_from_the_operation(tmp_path: Path) -> None:
    tables = us_tables()
    tables["trucks"][0]["start"] = "09:00"
    truck = read(write_folder(tmp_path, tables)).trucks["T1"]
    assert truck.shift == TimeWindow(9 * 3600, 20 * 3600)


def test_the_only_syrup_is_the_usual_one(tmp_path: Path) -> None:
    tables = us_tables()
    tables["syrups"].pop()
    tables["stock"] = tables["stock"][:1]
    tables["tanks"].pop()
    operation = read(write_folder(tmp_path, tables, TOML_US.replace('syrup_id = "thick"', "")))
    assert operation.feeding.syrup_id == "thick"


def test_a_truck_with_pails_only_needs_no_tanks(tmp_path: Path) -> None:
    """It is lawful, and told of: feeders that are filled by the pump get nothing."""
    tables = us_tables()
    tables.pop("tanks")
    operation, warnings = read_operation(write_folder(tmp_path, tables), day=DAY)
    assert operation.trucks["T1"].tanks == ()
    assert [problem.code for problem in warnings] == ["no_tank_truck"]


def test_bom_blank_lines_and_line_ends_change_nothing(tmp_path: Path) -> None:
    plain = write_folder(tmp_path / "plain", us_tables())
    odd = write_folder(tmp_path / "odd", us_tables())
    for file in [*odd.glob("*.csv"), odd / "operation.toml"]:
        text = file.read_text(encoding="utf-8")
        if file.suffix == ".csv":
            text = "\n\n" + text.replace("\n", "\n\n") + "\n , ,\n"
        file.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert replace(read(odd), name="") == replace(read(plain), name="")


def test_old_mac_line_ends_are_fine_in_tables(tmp_path: Path) -> None:
    folder = write_folder(tmp_path, us_tables())
    yards = folder / "yards.csv"
    yards.write_bytes(yards.read_bytes().replace(b"\n", b"\r"))
    assert list(read(folder).yards) == ["oak", "elm", "ash"]


def test_headers_are_read_whatever_their_case_and_order(tmp_path: Path) -> None:
    folder = write_folder(tmp_path, us_tables())
    (folder / "depots.csv").write_text(
        "Lon, LAT ,Depot_ID,Base,setup min\n-93.5,42.0,home,YES,5\n-93.1,42.2,co-op,n,\n", encoding="utf-8"
    )
    depots = read(folder).depots
    assert (depots["home"].base, depots["home"].setup_s, depots["home"].name) == (True, 300, "home")


def test_rows_are_numbered_as_a_spreadsheet_does(tmp_path: Path) -> None:
    folder = write_folder(tmp_path, us_tables())
    (folder / "yards.csv").write_text(
        'yard_id,lat,lon,note\n\noak,41.9,-93.6,"two\nlines, one row"\nelm,42.1,-93.6\n\nash,far,-93.2,\n',
        encoding="utf-8",
    )
    with pytest.raises(InputError) as caught:
        read_operation(folder, day=DAY)
    assert [(p.row, p.column) for p in caught.value.problems] == [(6, "lat")]


def test_short_rows_are_empty_at_the_end(tmp_path: Path) -> None:
    folder = write_folder(tmp_path, us_tables())
    (folder / "yards.csv").write_text(
        "yard_id,lat,lon,note,gate\noak,41.9,-93.6\nelm,42.1,-93.6,x\nash,42,-93\n"
    )
    assert read(folder).yards["oak"].note == ""


SETTINGS = [
    ("operation", "name", "Ridge Road Honey"),
    ("operation", "timezone", "America/Chicago"),
    ("operation", "units", "us"),
    ("operation", "currency", "USD"),
    ("cost", "labor_per_h", 24),
    ("cost", "fuel_per_gal", 3.785411784),
    ("cost", "vehicle_per_mi", 1.609344),
    ("shift", "start", time(6, 0)),
    ("shift", "end", "20:00"),
    ("feeding", "syrup_id", "thick"),
    ("feeding", "target_stores_lb", 90),
    ("feeding", "min_feed_f", 50.0),
    ("feeding", "conversion", 0.8),
]


def typed_tables() -> Any:
    """The tables as a spreadsheet holds them: dates and times as such."""
    tables = us_tables()
    for row in tables["colonies"]:
        row["date"] = date.fromisoformat(row["date"])
    tables["stock"][2]["from_time"] = time(10, 0)
    tables["depots"][0]["base"] = True
    tables["tanks"][0]["baffled"] = True
    return tables


def test_a_workbook_is_the_same_operation_as_the_csv_files(tmp_path: Path) -> None:
    wanted = read(write_folder(tmp_path / "csv", us_tables()))
    book = write_workbook(tmp_path / "book.xlsx", typed_tables(), SETTINGS)
    assert read(book) == wanted
    folder = tmp_path / "folder"
    folder.mkdir()
    write_workbook(folder / "book.xlsx", typed_tables())
    (folder / "~$book.xlsx").write_bytes(b"lock")
    (folder / "operation.toml").write_text(TOML_US, encoding="utf-8")
    assert read(folder) == wanted
    assert read(folder / "book.xlsx") == wanted


def test_tables_may_come_partly_from_a_workbook(tmp_path: Path) -> None:
    wanted = read(write_folder(tmp_path / "csv", us_tables()))
    tables = us_tables()
    folder = tmp_path / "mixed"
    folder.mkdir()
    write_workbook(folder / "book.xlsx", {"yards": tables.pop("yards")})
    assert read(write_folder(folder, tables)) == wanted


def test_problems_in_a_workbook_name_sheet_and_row(tmp_path: Path) -> None:
    tables = typed_tables()
    tables["yards"][1]["lat"] = "north"
    book = write_workbook(tmp_path / "book.xlsx", tables, SETTINGS)
    with pytest.raises(InputError) as caught:
        read_operation(book, day=DAY)
    assert str(caught.value).startswith("book.xlsx[yards]:3:lat: north: this is not a number")


def test_numbers_as_ids_are_the_same_in_both_kinds_of_file(tmp_path: Path) -> None:
    tables = us_tables()
    for row in (*tables["yards"], *tables["colonies"]):
        row["yard_id"] = {"oak": 101, "elm": 102.0, "ash": 103}[row["yard_id"]]
    book = write_workbook(tmp_path / "book.xlsx", tables, SETTINGS)
    assert list(read(book).yards) == ["101", "102", "103"]


def test_ten_thousand_rows_are_read_whole(tmp_path: Path) -> None:
    tables = us_tables()
    yard, group = tables["yards"][0], tables["colonies"][0]
    tables["yards"] = [
        {**yard, "yard_id": f"y{i}", "lat": 41.5 + i / 4000, "directions": f"past post {i}"}
        for i in range(3000)
    ]
    tables["colonies"] = [
        {**group, "yard_id": f"y{i % 3000}", "stores_lb": 20 + i / 200, "colonies": 1 + i % 40}
        for i in range(7000)
    ]
    folder = write_folder(tmp_path, tables)
    operation, _ = read_operation(folder, day=DAY)
    assert len(operation.yards) == 3000
    assert len(operation.groups) == 7000


def test_foulbrood_puts_a_yard_under_quarantine(tmp_path: Path) -> None:
    tables = us_tables()
    tables["yards"][0] |= {"foulbrood": "suspected", "permit": "inspector, 3 Sept", "priority": "high"}
    folder = write_folder(tmp_path / "op", tables, TOML_US)
    operation, _ = read_operation(folder)
    ill = next(iter(operation.yards.values()))
    assert (ill.foulbrood.value, ill.health.value, ill.permit) == (
        "suspected",
        "quarantine",
        "inspector, 3 Sept",
    )
    assert ill.priority.value == "high"


@pytest.mark.parametrize(
    ("typed", "circuity"),
    [("", 1.40), ('network = "mountain"', 1.85), ('network = "mixed"\ncircuity = 1.2', 1.2)],
)
def test_the_land_sets_circuity_unless_it_is_typed(tmp_path: Path, typed: str, circuity: float) -> None:
    lines = [line for line in TOML_US.splitlines() if not line.startswith("circuity")]
    text = "\n".join(lines).replace("[travel]", f"[travel]\n{typed}")
    if "[travel]" not in text:
        text += f"\n[travel]\n{typed}\n"
    operation, _ = read_operation(write_folder(tmp_path / "op", us_tables(), text))
    assert operation.travel.circuity == circuity
