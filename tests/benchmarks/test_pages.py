"""The page of benchmarks, its charts, and invented operations as files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from benchmarks.common.page import write_section
from benchmarks.common.plots import curves
from benchmarks.growth import grown, section
from benchmarks.sets.report import _plot
from benchmarks.sets.results import Result
from routing.files.operation.folder import read_operation
from routing.need.syrup import resolve
from tests.support.invented.days import day_of, invented_day
from tests.support.invented.folder import write_folder
from tests.support.invented.invent import DAY, invent_operation


def test_a_section_is_replaced_and_the_others_stay(tmp_path: Path) -> None:
    page = tmp_path / "docs" / "page.md"
    for name, words in (("first", "old"), ("second", "stays"), ("first", "new")):
        write_section(page, name, [f"## {name}", words])
    text = page.read_text(encoding="utf-8")
    assert text.index("new") < text.index("stays")
    assert "old" not in text
    assert text.count("<!-- begin first -->") == 1


@pytest.mark.parametrize("yards", [12, 320])
def test_an_invented_operation_reads_back_from_its_files(tmp_path: Path, yards: int) -> None:
    made = invent_operation(3, yards)
    write_folder(made, tmp_path)
    read, problems = read_operation(tmp_path, day=DAY)
    read = resolve(read)
    assert problems == ()
    # Files keep nine decimals; a density reckoned from the solids has more.
    assert {k: round(s.density_kg_per_l or 0, 8) for k, s in read.syrups.items()} == {
        k: round(s.density_kg_per_l or 0, 8) for k, s in made.syrups.items()
    }
    assert replace(read, syrups=made.syrups, given=made.given) == made


def test_a_large_invented_operation_has_yards_that_need_several_loads() -> None:
    problems = day_of(invent_operation(1, 320), DAY)
    names = [v.name for v in problems[0].visits]
    assert any(names.count(name) > 1 for name in names)
    small = [v.name for v in invented_day(1, 60)[0].visits]
    assert len(small) == len(set(small))


def test_growth_is_measured_from_files_to_sheets(tmp_path: Path) -> None:
    found = grown(6, 0.5, 1, 1)
    assert found.findings == 0
    assert found.visits == len(invented_day(1, 6)[0].visits)
    assert set(found.parts) == {"read", "need", "travel", "state", "search", "write", "audit", "outputs"}
    assert found.own_mb > 0
    text = "\n".join(section([found], 0.5, "command", tmp_path))
    assert "| 6 | " in text
    assert (tmp_path / "growth.svg").exists()
    assert (tmp_path / "memory.svg").read_text(encoding="utf-8").count("<circle") == 2


def test_a_chart_with_logarithmic_axes_puts_tens_at_equal_steps() -> None:
    svg = curves("t", "x", "y", [("a", [(1.0, 0.1), (10.0, 1.0), (100.0, 10.0)])])
    at = [float(part.split('"')[0]) for part in svg.split('cx="')[1:]]
    assert at[1] - at[0] == pytest.approx(at[2] - at[1], abs=0.2)


def test_who_was_not_run_at_every_time_does_not_empty_the_chart() -> None:
    def run(contestant: str, seconds: float) -> Result:
        return Result("CVRP", "I", 9, contestant, "", seconds, 1, 100.0, 102.0, True, 1.0, 1.0, "", "", "")

    runs = [run("a", 1.0), run("a", 60.0), run("b", 1.0)]
    chart = _plot(runs, ["a", "b"])
    assert "1 instances that all of these solved" in chart
    assert chart.count("<circle") == 2
    assert _plot(runs, ["b", "a"]).count("<circle") == 2, "a and b at the one time that b was run"
