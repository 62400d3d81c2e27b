"""A re-plan's first answer: insertion into what the drivers were told, before any engine has loaded."""

from __future__ import annotations

import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from routing.planning.evaluate.state import Judge
from routing.planning.problem.stability import Habit
from routing.planning.run import solve as solve_module
from routing.planning.run.solve import Progress, SolveOptions, solve
from routing.planning.search.search import adopt
from tests.support.hand import scattered

DEMO = Path(__file__).parents[3] / "data_demo" / "sorrel_county"
HEAVY = ("ortools", "pandas", "pyvrp", "openpyxl", "folium", "jinja2", "fpdf", "networkx")
PLAIN = scattered(10, 3)
TOLD = adopt(Judge(PLAIN), ((),) * len(PLAIN.trucks)).solution().routes
PROBLEM = replace(PLAIN, habit=Habit(TOLD, 15.0, 3.0))


def test_the_first_answer_is_told_before_any_worker_speaks(monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[Progress] = []
    real = solve_module._Crew.wait

    def waited(crew: solve_module._Crew) -> list[str]:
        assert [p.stage for p in heard] == ["insertion"]
        return real(crew)

    monkeypatch.setattr(solve_module._Crew, "wait", waited)
    outcome = solve([PROBLEM], SolveOptions(None, 20, workers=1), heard.append)
    first = adopt(Judge(PROBLEM), TOLD)
    assert heard[0].objective == pytest.approx(first.objective)
    # What comes after is better, or it is not told.
    prices = [p.objective for p in heard]
    assert outcome.solution.objective <= prices[0] + 1e-6


def test_a_whole_day_has_no_answer_before_its_workers(monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[Progress] = []
    real = solve_module._Crew.wait

    def waited(crew: solve_module._Crew) -> list[str]:
        assert heard == []
        return real(crew)

    monkeypatch.setattr(solve_module._Crew, "wait", waited)
    solve([PLAIN], SolveOptions(None, 20, workers=1), heard.append)
    assert heard


def test_no_heavy_library_is_loaded_before_the_search(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "county", ignore=shutil.ignore_patterns("day_log*"))
    code = f"""
import sys
from datetime import date
from pathlib import Path
from routing.app.cli import cli
from routing.app.workflow.replanning import replan_day
from routing.app.workflow.workflow import need
from routing.planning.problem.build import build_days
found = need(Path("county"), date(2026, 9, 28))
print([name for name in {HEAVY!r} if name in sys.modules])
"""
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path,
        env={"PYTHONPATH": str(DEMO.parents[1])},
    )  # fmt: skip
    assert ran.stdout == "[]\n"


def test_few_tanks_are_chosen_without_the_solver() -> None:
    code = """
import sys
from routing.planning.problem.tank_choice import TankChoice, assign_tanks
from tests.support.hand import scattered
assign_tanks([TankChoice(0, 1000, (0, 1))], (900, 100), {(0, frozenset({0})): 900})
print("ortools" in sys.modules)
"""
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "False\n"
