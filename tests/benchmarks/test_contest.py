"""Contestants on published instances: asked alike, judged alike, and survived."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from benchmarks.common.machine import cores_of, each_on_its_core
from benchmarks.contestants import apart
from benchmarks.contestants.apart import Task, ask, version_of
from benchmarks.published.catalog import Entry, spread
from benchmarks.published.contest import Contestant, contest
from benchmarks.sets.__main__ import runs
from benchmarks.sets.report import section
from benchmarks.sets.results import Result, add, load, of_code
from benchmarks.sets.two_cores import on_two_cores
from tests.support.instances.check import check
from tests.support.instances.instance import Instance, Vehicle
from tests.support.instances.typed_in import e_n13_k4, gr17, several_trips

TWO_TRIPS = """\
NAME : two trips
TYPE : VRP
DIMENSION : 5
VEHICLES : 1
CAPACITY : 10
EDGE_WEIGHT_TYPE : EUC_2D
NODE_COORD_SECTION
1 0 0
2 3 4
3 -3 4
4 3 -4
5 -3 -4
DEMAND_SECTION
1 0
2 5
3 5
4 5
5 5
DEPOT_SECTION
1
-1
VEHICLES_RELOAD_DEPOT_SECTION
1 1
EOF
"""


@pytest.mark.parametrize("kind", ["pyvrp", "ortools", "planner"])
def test_every_contestant_meets_the_optimum_of_the_first_published_case(kind: str) -> None:
    """E-n13-k4: 247, proved (CVRPLIB)."""
    solved = contest(Contestant(kind), e_n13_k4(), None, "round", 1.0, 1)
    assert solved.verdict.faults == ()
    assert solved.cost == 247


def test_pyvrp_reads_a_file_by_itself_and_its_trips_come_back(tmp_path: Path) -> None:
    """Two trips of two clients each: 5 + 6 + 5 twice."""
    from tests.support.instances.vrplib_files import read_vrplib

    path = tmp_path / "two_trips.vrp"
    path.write_text(TWO_TRIPS, encoding="utf-8")
    solved = contest(Contestant("pyvrp"), read_vrplib(path, "round"), path, "round", 0.3, 1)
    assert solved.verdict.faults == ()
    assert solved.cost == 32
    assert sum(stop < 0 for stop in solved.routes[0]) == 1


def test_pyvrp_is_told_of_trips_and_of_unlike_prices_where_there_is_no_file() -> None:
    trips = several_trips(e_n13_k4(), 2, 400)
    solved = contest(Contestant("pyvrp"), trips, None, "round", 0.5, 1)
    assert solved.verdict.faults == ()
    dear = trips.with_fleet((Vehicle((6000,), per_unit=1.5),) * 2 + (Vehicle((6000,), per_unit=1.1),) * 4)
    solved = contest(Contestant("pyvrp"), dear, None, "round", 0.5, 1)
    assert solved.verdict.faults == ()
    assert solved.cost == pytest.approx(247 * 1.1)


def _task(instance: Instance) -> Task:
    return Task(instance, None, "round", 0.1, 1)


def test_a_contestant_that_never_comes_back_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "START_UP_S", 1.0)
    monkeypatch.setattr(apart, "WAIT", 0.0)
    answer = ask("tests.benchmarks.never_answers", _task(gr17()))
    assert answer.routes is None
    assert "never came back" in answer.trouble


def test_a_contestant_that_dies_is_told_of() -> None:
    answer = ask("benchmarks.contestants.no_such_contestant", _task(gr17()))
    assert answer.routes is None
    assert "No module named" in answer.trouble


def test_an_environment_without_pyvrp_is_no_contestant() -> None:
    assert version_of("pyvrp", "/no/such/python") is None
    assert "not installed" in Contestant("pyvrp", "/no/such/python").name


def _result(**more: object) -> Result:
    usual = Result(
        "CVRP", "X", 10, "planner", "old", 1.0, 1, 100.0, 103.0, True, 1.0, 1.0, "", "2026-01-01", "2 cores"
    )
    return replace(usual, **more)  # type: ignore[arg-type]


def test_results_are_taken_up_again_and_the_last_of_a_kind_counts(tmp_path: Path) -> None:
    file = tmp_path / "kept" / "sets.jsonl"
    for cost in (103.0, 102.0):
        add(file, _result(cost=cost))
    add(file, _result(code="new"))
    found = load(file)
    assert [(r.code, r.cost) for r in found] == [("old", 102.0), ("new", 103.0)]
    assert [r.code for r in of_code(found, "old")] == ["old"]
    assert [r.code for r in of_code(found, "never ran")] == ["new"]


def test_what_a_library_without_a_seed_finds_is_measured_once() -> None:
    entry = Entry("CVRP", "E-n13-k4", e_n13_k4(), None, "round", 247)
    found = runs([entry], [Contestant("planner"), Contestant("ortools")], [10.0, 1.0], 2)
    assert [(r.contestant.kind, r.seconds, r.seed) for r in found] == [
        ("planner", 1.0, 1), ("ortools", 1.0, 1), ("planner", 1.0, 2),
        ("planner", 10.0, 1), ("ortools", 10.0, 1), ("planner", 10.0, 2),
    ]  # fmt: skip


def test_a_part_of_a_set_is_spread_over_it() -> None:
    entry = Entry("CVRP", "", e_n13_k4(), None, "round", 247)
    row = [replace(entry, name=str(i)) for i in range(7)] + [replace(entry, kind="VRPTW", name="w")]
    assert [e.name for e in spread(row, 3)] == ["0", "3", "6", "w"]
    assert [e.name for e in spread(row, 1)] == ["0", "w"]
    assert spread(row, None) == row


def test_the_report_tells_means_worst_runs_and_runs_without_a_plan(tmp_path: Path) -> None:
    rows = [_result(), _result(seed=2, cost=105.0), _result(contestant="PyVRP 1", code="", cost=100.0)]
    rows += [_result(contestant="PyVRP 1", code="", seed=2, cost=None, feasible=False, trouble="died")]
    text = "\n".join(section(rows, tmp_path))
    assert "| CVRP | 10 | 4.00 (5.00) | 0.00 1/2 |" in text
    assert "- X, PyVRP 1, 1 s, seed 2: died" in text
    assert "1 s: 1 instances of 1 sets, seeds 1 to 2, 4 runs" in text


def test_who_ran_on_a_part_of_a_set_only_is_marked(tmp_path: Path) -> None:
    rows = [
        _result(),
        _result(contestant="PyVRP 1", code=""),
        _result(contestant="PyVRP 1", code="", instance="Y"),
    ]
    text = "\n".join(section(rows, tmp_path))
    assert "| CVRP | 2 | 3.00 [1] | 3.00 (3.00) |" in text


def test_routes_of_too_many_vehicles_are_refused_by_the_judge() -> None:
    assert check(gr17(), [(0,), (1,)]).faults == ("2 routes for 1 vehicles",)


def test_seconds_are_of_the_contestants_own_processor() -> None:
    """A contestant that waits for its core loses nothing: what it used is what it was given."""
    for kind in ("pyvrp", "planner"):
        solved = contest(Contestant(kind), gr17(), None, "round", 0.4, 1)
        assert solved.verdict.faults == ()
        assert solved.seconds > 0.39
        assert solved.clock_s > 0


def test_the_planner_on_two_cores_has_its_time_on_each() -> None:
    solved = contest(Contestant("planner", None, 2), gr17(), None, "round", 0.4, 1)
    assert solved.cost == 2085
    assert solved.seconds > 0.79


def test_a_contestant_that_overstays_its_processor_time_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "START_UP_S", 30.0)
    answer = ask("tests.benchmarks.never_done", _task(gr17()))
    assert answer.routes is None
    assert "of processor time" in answer.trouble


def test_there_are_never_more_runs_at_a_time_than_cores() -> None:
    assert cores_of(1) == [None]
    with pytest.raises(SystemExit):
        cores_of(10_000)


@pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="cores cannot be told apart here")
def test_runs_at_a_time_keep_to_a_core_each_and_so_do_processes_they_start() -> None:
    there = sorted(os.sched_getaffinity(0))[:2]

    def where(_: int) -> str:
        time.sleep(0.05)
        words = [sys.executable, "-c", "import os; print(sorted(os.sched_getaffinity(0)))"]
        return subprocess.run(words, capture_output=True, check=True, text=True).stdout.strip()

    seen = {core for _, core in each_on_its_core(where, range(6), cores_of(len(there), there))}
    assert seen == {f"[{core}]" for core in there}
    assert sorted(os.sched_getaffinity(0))[: len(there)] == there


def test_two_cores_give_the_better_of_two_seeds() -> None:
    rows = [_result(contestant="PyVRP 1", code="", seed=seed, cost=100.0 + seed) for seed in (1, 2, 3, 4, 5)]
    rows[0] = replace(rows[0], cost=None, feasible=False, trouble="died")
    rows += [_result(contestant="planner, 2 cores", cost=101.0)]
    found = on_two_cores(rows)
    assert [(r.contestant, r.seed, r.cost, r.trouble) for r in found] == [
        ("planner", 1, 101.0, ""), ("PyVRP 1", 1, 102.0, ""), ("PyVRP 1", 3, 103.0, ""),
    ]  # fmt: skip


def test_the_report_names_the_sets_where_the_better_engine_is_ahead(tmp_path: Path) -> None:
    rows = [_result(), _result(contestant="PyVRP 1", code="", cost=102.0)]
    rows += [
        _result(kind="VRPTW", instance="W"),
        _result(kind="VRPTW", instance="W", contestant="PyVRP 1", cost=104.0),
    ]
    rows += [_result(kind="VRPTW", instance="V", contestant="PyVRP 1", cost=100.0)]
    text = "\n".join(section(rows, tmp_path))
    assert "at or under the better engine on 1 of 2 sets; above it on CVRP by 1.00." in text
