"""The benchmark of the compiled search: what it counts, and what its page says."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from benchmarks import compiled
from benchmarks.compiled import VARIABLE, Priced, Stepped, priced, section, stepped, stepped_apart


def test_steps_of_the_search_alone_are_counted() -> None:
    short, long = stepped("8-1", 0.2), stepped("8-1", 1.0)
    assert 0 < short.steps < long.steps
    assert long.seconds > 0.9


def test_a_process_is_told_whether_to_search_plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "1")
    assert VARIABLE not in compiled._environment(False)
    assert compiled._environment(True) == {**os.environ, VARIABLE: "1"}
    assert stepped_apart(("8-1", True, 0.1)).steps > 0
    assert priced(("8-1", True, 0.3, 1)).price < float("inf")


def test_the_page_tells_steps_prices_and_mean_gaps(tmp_path: Path) -> None:
    steps = {("demo", True): Stepped(100, 1.0, 2.0), ("demo", False): Stepped(3000, 1.5, 30.0)}
    rows = {(True, 1.0): 120.0, (False, 1.0): 110.0, (True, 3.0): 115.0, (False, 3.0): 100.0}
    prices = [
        Priced("36-1", plain, seconds, seed, price + seed - 1, 1)
        for (plain, seconds), price in rows.items()
        for seed in (1, 2)
    ]
    text = "\n".join(section(steps, prices, 1.0, 40.0, "command", tmp_path))
    assert "| the demo | 100 | 2000 | 20 |" in text
    assert "| 36 yards, no. 1 | 120 (1) | 110 (1) | 116 (1) | 100 (1) |" in text
    assert "| mean gap to the cheapest of all | 20.5 % | 10.5 % | 15.5 % | 0.5 % |" in text
    assert "making it, once on a computer, took 40 s" in text
    assert (tmp_path / "compiled.svg").exists()
