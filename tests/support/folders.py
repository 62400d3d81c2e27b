"""Write a small sound operation, in either unit family, as a folder or a workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import openpyxl

Rows = list[dict[str, Any]]
Tables = dict[str, Rows]

TOML_US = """\
[operation]
name = "Ridge Road Honey"
timezone = "America/Chicago"
units = "us"
currency = "USD"

[cost]
labor_per_h = 24.0
fuel_per_gal = 3.785411784
vehicle_per_mi = 1.609344

[shift]
start = "06:00"
end = "20:00"

[feeding]
syrup_id = "thick"
target_stores_lb = 90.0
min_feed_f = 50.0
conversion = 0.8
"""

TOML_METRIC = """\
[operation]
name = "Ridge Road Honey"
timezone = "America/Chicago"
units = "us"
currency = "USD"

[cost]
labor_per_h = 24.0
fuel_per_l = 1.0
vehicle_per_km = 1.0

[shift]
start = "06:00"
end = "20:00"

[feeding]
syrup_id = "thick"
target_stores_kg = 40.8233133
min_feed_c = 10
conversion = 0.8
"""


def us_tables() -> Tables:
    """Three yards, two depots, one truck, in US units. Fresh at every call."""
    yard = {"lat": 41.9, "lon": -93.6}
    return {
        "yards": [
            {**yard, "yard_id": "oak", "name": "Oak bottom", "windows": "06:30-11:00;16:00-20:00"},
            {**yard, "yard_id": "elm", "name": "Elm hill", "lat": 42.1, "max_gross_lb": 26000},
            {**yard, "yard_id": "ash", "name": "Ash creek", "lon": -93.2, "health": "quarantine"},
        ],
        "colonies": [
            _colonies("oak", 24, stores_lb=40),
            _colonies("elm", 16, honey_frames=5, frame="deep"),
            _colonies("ash", 20, gross_lb=95, tare_lb=60, flow_lb_per_day=0.5),
        ],
        "feeders": [
            {"feeder_id": "frame2", "position": "frame", "capacity_gal": 2, "min_per_colony": 0.8},
            {
                "feeder_id": "pail",
                "position": "lid",
                "capacity_gal": 2,
                "min_per_colony": 2,
                "swapped": "yes",
            },
        ],
        "syrups": [
            {"syrup_id": "thick", "kind": "sucrose", "solids_pct": 66.7, "price_per_gal": 3.785411784},
            {"syrup_id": "corn", "kind": "hfcs55", "solids_pct": 77, "price_per_lb": 0.45359237},
        ],
        "trucks": [
            {
                "truck_id": "T1",
                "start_depot": "home",
                "end_depot": "home",
                "gvwr_lb": 26000,
                "tare_lb": 13000,
                "mpg_empty": 10,
                "mpg_full": 8,
                "crew": 2,
                "length_ft": 28,
                "pump_gpm": 12,
                "pail_slots": 60,
                "idle_gal_per_h": 0.8,
            }
        ],
        "tanks": [
            {"truck_id": "T1", "tank_id": "front", "capacity_gal": 500, "level_gal": 100, "baffled": "yes"},
            {"truck_id": "T1", "tank_id": "rear", "capacity_gal": 500, "syrup_id": "corn"},
        ],
        "depots": [
            {"depot_id": "home", "name": "Home", "lat": 42.0, "lon": -93.5, "base": "yes", "setup_min": 5},
            {"depot_id": "co-op", "name": "Co-op", "lat": 42.2, "lon": -93.1, "windows": "07:00-18:00"},
        ],
        "stock": [
            {"depot_id": "home", "syrup_id": "thick", "on_hand_gal": 2000, "fill_gpm": 40},
            {"depot_id": "home", "syrup_id": "corn", "on_hand_gal": "", "fill_gpm": 30},
            {
                "depot_id": "co-op",
                "syrup_id": "corn",
                "on_hand_gal": 500,
                "fill_gpm": 30,
                "from_time": "10:00",
            },
        ],
    }


def _colonies(yard_id: str, count: int, **judged: Any) -> dict[str, Any]:
    return {
        "yard_id": yard_id,
        "date": "2026-09-10",
        "colonies": count,
        "feeder_id": "frame2",
        "strength_frames": 8,
    } | judged


_TO_METRIC = {
    "_lb_per_day": ("_kg_per_day", 0.45359237),
    "_gal_per_h": ("_l_per_h", 3.785411784),
    "price_per_gal": ("price_per_l", 1 / 3.785411784),
    "price_per_lb": ("price_per_kg", 1 / 0.45359237),
    "_gpm": ("_lpm", 3.785411784),
    "_gal": ("_l", 3.785411784),
    "_lb": ("_kg", 0.45359237),
    "_ft": ("_m", 0.3048),
}


def metric_tables() -> Tables:
    """The same operation in metric units."""
    return {name: [_metric_row(row) for row in rows] for name, rows in us_tables().items()}


def _metric_row(row: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in row.items():
        if key.startswith("mpg_"):
            found["l_per_100km_" + key[4:]] = 100 * 3.785411784 / (value * 1.609344)
            continue
        for suffix, (metric, factor) in _TO_METRIC.items():
            if key.endswith(suffix):
                found[key.removesuffix(suffix) + metric] = value and value * factor
                break
        else:
            found[key] = value
    return found


def csv_text(rows: Rows) -> str:
    """Rows as CSV with a header of every key used."""
    headers = list(dict.fromkeys(key for row in rows for key in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, headers, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def write_folder(folder: Path, tables: Mapping[str, Rows], toml: str = TOML_US) -> Path:
    """An operation folder of CSV files."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "operation.toml").write_text(toml, encoding="utf-8")
    for name, rows in tables.items():
        (folder / f"{name}.csv").write_text(csv_text(rows), encoding="utf-8")
    return folder


def write_workbook(path: Path, tables: Mapping[str, Rows], settings: list[tuple[str, str, Any]] = []) -> Path:  # noqa: B006
    """The same as a workbook, with the settings as a sheet when given."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        headers = list(dict.fromkeys(key for row in rows for key in row))
        sheet.append(headers)
        for row in rows:
            sheet.append([row.get(key) for key in headers])
    if settings:
        sheet = book.create_sheet("operation")
        sheet.append(["section", "key", "value"])
        for setting in settings:
            sheet.append(list(setting))
    book.save(path)
    return path
