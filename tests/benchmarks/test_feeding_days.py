"""Contestants on feeding days: equal processor time, one core and two told apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import feeding_days
from benchmarks.common.measure import Run
from benchmarks.contestants.one_day import ENGINE, LIBRARY, PLANNER, THEN_SEARCH, Answered, Asked, ask
from benchmarks.feeding_days import LONG, DayRuns, invented_runs
from benchmarks.report import invented

PRICES = {(PLANNER, 1, 0): 110.0, (PLANNER, 1, 1): 105.0, (ENGINE, 1, 0): 120.0, (ENGINE, 1001, 0): 130.0}


def _answer(asked: Asked) -> Answered:
    price = PRICES.get((asked.contestant, asked.seed, asked.worker), 150.0)
    if asked.seconds > 5:
        price = 100.0
    trace = ((0.1 + asked.worker, price + 50.0), (1.0 + asked.worker, price))
    return Answered(Run(asked.day, asked.contestant, asked.seed, price, asked.worker, 2.0, trace), 0)


def test_two_cores_are_two_workers_or_the_better_of_two_seeds(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(feeding_days, "ask", _answer)
    (day,) = invented_runs([(8, 1)], 2.0, 1, 30.0, [None], lambda _: None)
    found = {run.contestant: run for run in day.runs}
    assert found["planner, 2 cores"].price == 105.0
    assert found["planner, 2 cores"].unserved == 1
    assert found["planner, 2 cores"].trace == ((0.1, 160.0), (1.0, 110.0), (2.0, 105.0))
    assert found["planner, 1 core"].price == 110.0
    assert found["PyVRP alone, 2 cores"].price == found["PyVRP alone, 1 core"].price == 120.0
    assert found[f"{LIBRARY}, 1 core"].price == found[f"{THEN_SEARCH}, 1 core"].price == 150.0
    assert day.best == found[LONG].price == 100.0
    text = "\n".join(invented([day], "command", tmp_path))
    assert "| 8 yards, no. 1 | 8 | 1 | 2 | 100.00 | 5.00 | 20.00 |" in text


def test_runs_without_a_plan_are_counted_and_spoil_no_mean() -> None:
    def run(price: float) -> Run:
        return Run("d", "a", 1, price, 0, 1.0)

    inf = float("inf")
    day = DayRuns("d", 8, 1, 1.0, 2.0, 100.0, (run(110.0), run(inf), run(120.0)))
    assert day.told("a") == "15.00 (20.00) 2/3"
    assert day.told("nobody") == "-"
    assert DayRuns("d", 8, 1, 1.0, 2.0, 100.0, (run(inf),)).told("a") == "0/1"


@pytest.mark.parametrize("contestant", [PLANNER, ENGINE, LIBRARY, THEN_SEARCH])
def test_each_contestant_plans_a_small_day_in_a_process_of_its_own(contestant: str) -> None:
    found = ask(Asked("8-1", contestant, 0.4, 1)).run
    assert found.troubles == ()
    assert found.unserved <= 2
    assert 0 < found.price < float("inf")
    assert found.trace if contestant == PLANNER else not found.trace


def test_a_contestant_that_dies_on_a_day_has_no_plan() -> None:
    found = ask(Asked("8-1", "nobody", 0.4, 1)).run
    assert found.price == float("inf")
    assert "died" in found.troubles[0]
