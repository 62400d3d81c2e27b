from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from routing.domain.fleet import Tank, Truck
from routing.domain.places import ColonyGroup, Depot, Stock, Stores, Yard
from routing.domain.supplies import Feeder, Syrup
from routing.files.columns.all_tables import TABLES
from routing.files.columns.settings import SECTIONS
from routing.files.manual.generated_docs import PAGES, write_pages
from routing.files.manual.manual import manual
from routing.files.problems.codes import CODES

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("name", PAGES)
def test_the_page_is_as_the_code_says(name: str) -> None:
    # Run `python -m routing.files.manual.generated_docs` after a change of columns, codes or plan types.
    assert (DOCS / name).read_text(encoding="utf-8") == PAGES[name]()


def test_every_header_key_and_code_stands_in_the_manual() -> None:
    text = manual()
    for table in (*TABLES, *SECTIONS.values()):
        for header in table.by_header:
            assert f"`{header}`" in text
    for code, meaning in CODES.items():
        assert f"| `{code}` | {meaning} |" in text


def test_pages_are_written_where_asked(tmp_path: Path) -> None:
    write_pages(tmp_path)
    assert json.loads((tmp_path / "plan.schema.json").read_text())["title"] == "Plan"
    assert (tmp_path / "input.md").read_text() == manual()


CONTRACT = {
    "yards": """
        yard_id name lat lon windows max_gross_lb max_gross_kg max_length_ft max_length_m trucks
        health setup_min level from_date until_date supers_on temperature_f temperature_c gate
        directions contact note
    """,
    "colonies": """
        yard_id date colonies feeder_id strength_frames stores_lb stores_kg honey_frames frame
        gross_lb gross_kg tare_lb tare_kg syrup_id feed_left_gal feed_left_l flow_lb_per_day
        flow_kg_per_day group
    """,
    "feeders": """
        feeder_id position capacity_gal capacity_l min_per_colony opens_hive meets_bees swapped
        frames_displaced tilt_derate level_visible spills robbing drowning
    """,
    "syrups": """
        syrup_id kind solids_pct price_per_gal price_per_l price_per_lb price_per_kg
        density_kg_per_l density_lb_per_gal keeps_days lot temperature_f temperature_c
    """,
    "trucks": """
        truck_id start_depot end_depot gvwr_lb gvwr_kg tare_lb tare_kg mpg_empty l_per_100km_empty
        mpg_full l_per_100km_full crew length_ft length_m pump_gpm pump_lpm pail_slots start end
        fixed_cost idle_gal_per_h idle_l_per_h available
    """,
    "tanks": """
        truck_id tank_id capacity_gal capacity_l syrup_id level_gal level_l baffled
    """,
    "depots": """
        depot_id name lat lon windows base wash_down setup_min
    """,
    "stock": """
        depot_id syrup_id on_hand_gal on_hand_l fill_gpm fill_lpm
    """,
}


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_every_column_of_the_published_format_is_read(table: object) -> None:
    name, by_header = table.name, table.by_header  # type: ignore[attr-defined]
    assert set(CONTRACT[name].split()) <= set(by_header)


@pytest.mark.parametrize(
    ("table", "kind", "made_elsewhere"),
    [
        ("yards", Yard, {"position", "called_in"}),
        ("colonies", ColonyGroup, {"stores", "fed", "part_of"}),
        ("colonies", Stores, set()),
        ("depots", Depot, {"position", "stock"}),
        ("stock", Stock, set()),
        ("trucks", Truck, {"tanks", "shift", "underway"}),
        ("tanks", Tank, set()),
        ("feeders", Feeder, set()),
        ("syrups", Syrup, set()),
    ],
)
def test_everything_known_of_a_thing_can_be_written_in_its_table(
    table: str, kind: Any, made_elsewhere: set[str]
) -> None:
    columns = {column.field for one in TABLES if one.name == table for column in one.columns}
    assert {f.name for f in fields(kind)} - made_elsewhere <= columns
