"""What the page says of proofs and bounds."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import __main__ as bench
from benchmarks import bounds, proofs
from benchmarks.bounds import Held
from benchmarks.proofs import Proved


def test_proofs_are_told_by_size_and_those_with_refills_apart() -> None:
    rows = [
        Proved(12, True, 2.0, 0.0, 1, 3.5),
        Proved(12, True, 9.0, 0.0, 0, 0.0),
        Proved(12, False, 30.0, 4.2, 2, 0.0),
    ]
    text = "\n".join(proofs.section(rows, 30.0, 2.0, "command"))
    assert "| 12 | 3 | 2 | 2 | 1 | 9.0 | 9.0 | 4.2 | 3.5 |" in text


def test_a_small_day_is_proved_and_stands_on_the_page(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    words = ["--yards", "5", "--days", "1", "--start", "0.5", "--seconds", "10", "--out", str(page)]
    assert proofs.main(words) == 0
    assert "| 5 | 1 | " in page.read_text(encoding="utf-8")


def test_gaps_are_medians_over_the_days_of_a_size_at_each_moment() -> None:
    found = [
        Held("12 yards, no. 1", 12, 1, 100.0, 90.0, ((0.5, 60.0), (4.0, 90.0))),
        Held("12 yards, no. 2", 12, 1, 100.0, 96.0, ((0.5, 80.0), (2.0, 96.0))),
        Held("demo", 36, 2, 200.0, 201.0, ((2.0, 201.0),)),
    ]
    text = "\n".join(bounds.section(found, 5.0, 5.0, "command"))
    assert "| 12 yards | 2 | 12 | 1 | 30.0 | 22.0 | 7.0 | 10.0 |" in text
    assert "- demo: the bound is ABOVE the plan" in text


def test_a_bound_is_held_against_a_plan_and_stands_on_the_page(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    words = ["--sizes", "6", "--seeds", "1", "--folders", "--seconds", "1", "--plan-seconds", "0.5"]
    assert bounds.main([*words, "--out", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert "| 6 yards | 1 | 6 | 1 |" in text
    assert "ABOVE" not in text


def test_every_part_of_the_benchmarks_can_be_asked_for_and_a_failure_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: dict[str, list[str]] = {}

    def take(name: str, code: int = 0):  # type: ignore[no-untyped-def]
        return lambda words: asked.update({name: words}) or code

    monkeypatch.setattr(bench, "COMMANDS", {name: take(name) for name in bench.COMMANDS})
    page = str(tmp_path / "page.md")
    parts = [part for part in bench.PARTS if part in bench.COMMANDS]
    assert bench.main(["--quick", "--out", page, "--jobs", "2", "--only", *parts]) == 0
    assert list(asked) == parts
    on_page = [words for part, words in asked.items() if part not in bench.PRINTED]
    assert all(words[:2] == ["--out", page] for words in on_page)
    assert "--jobs" in asked["sets"]
    monkeypatch.setattr(bench, "COMMANDS", {"growth": take("growth", 1)})
    with pytest.raises(SystemExit, match="growth failed"):
        bench.main(["--out", page, "--only", "growth"])
