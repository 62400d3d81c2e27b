"""Python users get what the commands get: the same need and the same refusals, in tables."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

import routing
from routing.app.workflow import workflow
from tests.support.face import feedround
from tests.support.folders import TOML_US, us_tables, write_folder

DAY = "2026-09-16"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "farm", us_tables(), TOML_US)


def test_need_counts_what_was_fed_since_the_inspection_as_the_command_does(folder: Path) -> None:
    before = routing.need_table(routing.read_operation(folder), DAY).set_index("yard_id")
    fed = feedround("note", folder, "fed", "elm", "16/32gal", "-t", "T1", "-a", "10:00", "-d", "2026-09-15")
    assert fed.code == 0, fed.err
    after = routing.need_table(routing.read_operation(folder), DAY).set_index("yard_id")
    command = {need.yard_id: need for need in workflow.need(folder, date.fromisoformat(DAY)).needs}
    assert {yard_id: need.volume_l for yard_id, need in command.items()} == after["volume_l"].to_dict()
    assert after.loc["elm", "volume_l"] < before.loc["elm", "volume_l"]
    assert after.loc["elm", "days_of_stores"] > before.loc["elm", "days_of_stores"]
    assert after.loc["oak", "volume_l"] == before.loc["oak", "volume_l"]


def test_a_day_before_that_nobody_told_about_is_asked_for_as_the_command_does(folder: Path) -> None:
    out = folder.parent / "out"
    words = ("--iterations", "1", "--out", out)
    assert feedround("plan", folder, "--date", "2026-09-15", *words).code in (0, 1)
    noted = feedround("note", folder, "planned", out / "plan.json", "-d", "2026-09-15")
    assert noted.code == 0, noted.err
    told = feedround("plan", folder, "--date", DAY, *words)
    assert told.code == 2
    with pytest.raises(routing.FeedroundError) as caught:
        routing.plan_day(routing.read_operation(folder), DAY, iterations=1)
    assert str(caught.value).split() == told.err.split()


def test_tables_in_memory_have_need_but_no_log_and_no_roads(folder: Path) -> None:
    tables = routing.read_operation(folder).tables
    settings = {
        "operation": {"name": "x", "timezone": "America/Chicago", "units": "us", "currency": "USD"},
        "feeding": {"syrup_id": "thick"},
    }
    operation = routing.read_operation(tables, settings)
    assert routing.need_table(operation, DAY)["volume_l"].sum() > 0
    with pytest.raises(routing.FeedroundError, match="have no day log: read the operation from its folder"):
        routing.log_pours(operation)
    with pytest.raises(routing.FeedroundError, match="names no extract"):
        routing.road_graph(operation)


def test_a_date_may_be_text_a_date_or_a_timestamp_and_nothing_else(folder: Path) -> None:
    operation = routing.read_operation(folder)
    tables = [routing.need_table(operation, d) for d in (DAY, date(2026, 9, 16), pd.Timestamp(DAY))]
    assert all(table.equals(tables[0]) for table in tables)
    for bad in ("16 Sept", "1026-09-16"):
        with pytest.raises(routing.FeedroundError, match=r"write it (like|as) 2026-09-28"):
            routing.need_table(operation, bad)


def test_a_notebook_shows_the_map_in_a_frame_that_asks_no_server(folder: Path) -> None:
    day = routing.plan_day(routing.read_operation(folder), DAY, iterations=1)
    shown = day._repr_html_()
    assert shown.startswith("<iframe srcdoc=")
    assert "&lt;!doctype html&gt;" in shown.lower()
    assert "src=&quot;http" not in shown
    assert repr(day).startswith("Ridge Road Honey, 2026-09-16: 1 truck, ")
