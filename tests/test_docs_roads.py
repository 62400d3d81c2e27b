"""The page on roads has the speeds and delays that the code drives by."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

from routing.domain.road_settings import RoadSettings
from routing.domain.units import M_PER_KM, M_PER_MILE

PAGE = (Path(__file__).parents[1] / "docs" / "roads.md").read_text(encoding="utf-8")
SETTINGS = {f.name: f for f in fields(RoadSettings)}


def test_every_speed_stands_on_the_page_in_both_units_with_its_source() -> None:
    rows = re.findall(r"^\| `(\w+)` \| ([\d.]+) \| (\d+) \| ([^|]+) \|", PAGE, re.MULTILINE)
    shown = {f"{kind}_km_per_h": (float(kmh), int(mph), source) for kind, kmh, mph, source in rows}
    assert shown == {
        name: (f.default, round(f.default * M_PER_KM / M_PER_MILE), f.metadata["source"])
        for name, f in SETTINGS.items()
        if name.endswith("_km_per_h")
    }


def test_every_delay_stands_on_the_page_with_its_source() -> None:
    rows = re.findall(r"^\| `(\w+_s)` \| ([\d.]+) \| ([^|]+) \|$", PAGE, re.MULTILINE)
    assert {name: (float(seconds), source) for name, seconds, source in rows} == {
        name: (f.default, f.metadata["source"]) for name, f in SETTINGS.items() if name.endswith("_s")
    }
