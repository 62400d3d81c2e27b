"""The examples of the page for Python users do what they say, and it names every name and column there is."""

from __future__ import annotations

import doctest
import shutil
from pathlib import Path

import pytest

import routing
from routing.reports.export.feed_record import HEADERS
from routing.reports.frames import log, need, plan
from tests.support.face import feedround

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "python.md"
TEXT = PAGE.read_text(encoding="utf-8")


def _a_day_noted(folder: Path) -> None:
    """The demo as an operation of one's own, with a plan and a feeding in its log."""
    shutil.copytree(ROOT / "data_demo" / "sorrel_county", folder)
    planned = feedround("plan", folder, "--date", "2026-09-28", "--iterations", "3", "--out", "planned")
    assert planned.code == 1, planned.err
    assert feedround("note", folder, "planned", "planned/plan.json").code == 0
    fed = feedround(
        "note", folder, "fed", "Y01", "30/45gal", "-t", "heavy", "-a", "10:00", "-d", "2026-09-28"
    )
    assert fed.code == 0, fed.err


def test_every_example_does_what_the_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOT / "data_demo", tmp_path / "data_demo")
    _a_day_noted(tmp_path / "my-bees")
    examples = doctest.DocTestParser().get_doctest(TEXT, {}, PAGE.name, str(PAGE), 0)
    told: list[str] = []
    ran = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE).run(
        examples, out=told.append
    )
    assert ran.failed == 0, "".join(told)
    assert ran.attempted > 30


@pytest.mark.parametrize("name", routing.__all__)
def test_every_public_name_stands_on_the_page_and_has_a_docstring(name: str) -> None:
    assert name in TEXT
    assert getattr(routing, name).__doc__


COLUMNS = {
    "stops": plan.STOPS,
    "pours": plan.POURS,
    "fills": plan.FILLS,
    "unserved": plan.UNSERVED,
    "totals": plan.TOTALS,
    "warnings": plan.WARNINGS,
    "need": need.NEED,
    "doses": need.DOSES,
    "travel": need.TRAVEL,
    "poured": log.POURED,
    "against_plan": log.AGAINST_PLAN,
    "feed_record": dict.fromkeys(HEADERS, ""),
}


@pytest.mark.parametrize("columns", COLUMNS.values(), ids=COLUMNS)
def test_every_column_stands_on_the_page(columns: dict[str, str]) -> None:
    assert [name for name in columns if f"`{name}`" not in TEXT and f"'{name}'" not in TEXT] == []
