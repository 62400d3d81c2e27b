"""The demo's invented roads: drawn by the script, reached by every yard, told of on every output."""

from __future__ import annotations

import bz2
import json
import re
from datetime import date
from pathlib import Path

import pytest

from routing.app.workflow import workflow
from routing.app.workflow.demo import copy_demo
from routing.app.workflow.outputs import write_outputs
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from tools.draw_roads import OUT, draw

SAID = "Invented roads of an invented county"


@pytest.fixture(scope="module")
def outputs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = copy_demo(tmp_path_factory.mktemp("demo") / "operation")
    options = DayOptions(search=SolveOptions(seconds=None, iterations=20, seed=1))
    planned = workflow.plan(folder, date(2026, 9, 28), options)
    return write_outputs(planned, folder.parent)


def test_the_file_is_what_the_script_draws() -> None:
    assert bz2.decompress(OUT.read_bytes()).decode() == draw()


def test_the_file_is_small_enough_to_ship() -> None:
    assert OUT.stat().st_size < 60_000


def test_every_place_of_the_demo_is_on_a_road() -> None:
    gathered = workflow.gather(OUT.parent, date(2026, 9, 28))
    travel = workflow.travel_for(gathered.operation, OUT.parent)
    assert (travel.provenance.method, travel.warnings, travel.closed) == ("roads", (), {})


def test_routes_follow_roads_in_the_plan(outputs: dict[str, Path]) -> None:
    plan = json.loads(outputs["plan.json"].read_text(encoding="utf-8"))
    legs = [stop["leg"] for route in plan["routes"] for stop in route["stops"] if stop["leg"]["distance_m"]]
    assert legs
    assert all(len(leg["geometry"]) > 2 for leg in legs)


@pytest.mark.parametrize("name", ["plan.json", "map.html", "run_sheet_heavy.html", "plan.gpx"])
def test_whose_roads_they_are_stands_on_every_output(outputs: dict[str, Path], name: str) -> None:
    text = outputs[name].read_text(encoding="utf-8")
    assert SAID in text
    assert "OpenStreetMap" not in text


def test_the_map_draws_roads_under_the_routes(outputs: dict[str, Path]) -> None:
    page = outputs["map.html"].read_text(encoding="utf-8")
    found = re.search(r'id="day-data"[^>]*>(.*?)</script>', page, re.DOTALL)
    assert found is not None
    roads = json.loads(found[1])["roads"]
    assert {road["rank"] for road in roads} == {0, 1, 2}
    assert len(roads) > 500
