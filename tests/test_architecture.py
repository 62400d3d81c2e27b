"""The house: who may import whom, who speaks to a solver, how long a module may be."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from tests.support.architecture import MAX_LINES, MAX_MODULES, libraries, violations, violations_beside

ROOT = Path(__file__).parent.parent
HEAVY = ("pyvrp", "ortools", "numba", "folium", "pandas", "scipy", "networkx", "matplotlib")


OPTIONAL = {"osrm": ("engine", "osrm-bindings")}
"""Libraries that not everybody has, with the extra that brings them."""


def test_house_keeps_its_rules() -> None:
    assert violations(ROOT / "routing") == []


def test_tests_benchmarks_and_tools_keep_their_rules() -> None:
    assert violations_beside(ROOT) == []


def test_every_library_used_is_a_declared_dependency() -> None:
    """A library that only happens to be installed is missing on the next machine."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[^A-Za-z0-9._-]", line, maxsplit=1)[0].lower() for line in project["dependencies"]}
    sources = packages_distributions()
    undeclared = {
        name
        for name in libraries(ROOT / "routing") - set(OPTIONAL)
        if not (ROOT / name).is_dir()  # data_demo comes with the project
        and not declared & {source.lower() for source in sources.get(name, [name])}
    }
    assert undeclared == set()
    for extra, library in OPTIONAL.values():
        assert any(line.startswith(library) for line in project["optional-dependencies"][extra])


def _loaded_by(statement: str) -> list[str]:
    code = f"{statement}\nimport sys\nprint(*sorted({set(HEAVY)!r} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    return run.stdout.split()


def test_importing_the_package_loads_no_solver_and_no_map_library() -> None:
    assert _loaded_by("import routing") == []
    assert _loaded_by("import networkx") == ["networkx"]


def test_importing_the_trade_loads_no_solver_and_no_map_library() -> None:
    modules = sorted(file.stem for file in (ROOT / "routing" / "domain").glob("[!_]*.py"))
    assert modules
    assert _loaded_by("\n".join(f"import routing.domain.{module}" for module in modules)) == []


def test_audit_works_without_any_solver() -> None:
    assert _loaded_by("import routing.audit") == []


def _house(folder: Path, files: dict[str, str]) -> Path:
    """A small sound house with files planted in it."""
    sound = {
        "__init__.py": "",
        "domain/yard.py": "import numpy\n",
        "app/cli.py": "import routing.domain.yard\n",
    }
    for name, text in {**sound, **files}.items():
        path = folder / "routing" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder / "routing"


SOUND = {
    "numbers in the domain": {"domain/fleet.py": "import numpy as np\nfrom dataclasses import dataclass\n"},
    "need on domain": {"need/ration.py": "from routing.domain.yard import Yard\nfrom . import syrup\n"},
    "engine speaks to PyVRP": {"planning/engines/pyvrp_model.py": "from pyvrp import Model\n"},
    "exact speaks to OR-Tools": {"planning/exact/days.py": "from ortools.sat.python import cp_model\n"},
    "bound speaks to OR-Tools": {"planning/bound/master.py": "from ortools.linear_solver import pywraplp\n"},
    "engine speaks to OR-Tools": {"planning/engines/ortools_routing.py": "def f():\n    import ortools\n"},
    "machine code": {"planning/evaluate/clock.py": "import numba\nimport routing.planning.problem\n"},
    "log on domain": {"log/fold.py": "import routing.domain.yard\n"},
    "learning on data frames": {
        "log/learn/learn.py": "import pandas\nfrom routing.log import day\n",
        "log/day.py": "",
    },
    "need on the log": {"need/ration.py": "from routing.log import day\n", "log/day.py": ""},
    "parts of the audit": {
        "audit/__init__.py": "from routing.audit.rules import load\n",
        "audit/rules/load.py": "from routing.domain import yard\n",
    },
    "app on everything": {"app/workflow.py": "import routing.travel\nimport routing.files\nimport rich\n"},
    "app on the public names": {"app/web/pages.py": "import routing\n"},
    "version for a report": {"reports/map.py": "from routing import __version__\nimport folium\n"},
}

BROKEN = {
    "domain reads files": ({"domain/day.py": "import pandas\n"}, "domain/day.py:1: imports pandas"),
    "domain knows planning": (
        {"domain/day.py": "from routing.planning import x\n"},
        "may import domain only",
    ),
    "need uses a library": ({"need/ration.py": "import numpy\n"}, "may use astral only"),
    "need knows travel": ({"need/ration.py": "import routing.travel.straight\n"}, "need/ration.py:1"),
    "travel knows planning": (
        {"travel/graph.py": "from routing.planning import problem\n"},
        "domain, travel",
    ),
    "travel draws maps": (
        {"travel/graph.py": "import folium\n"},
        "geopy, networkx, numpy, osmium, scipy only",
    ),
    "planning reads travel": (
        {"planning/problem.py": "from routing.travel import straight\n"},
        "problem.py:1",
    ),
    "planning reads tables": ({"planning/problem.py": "import pandas\n"}, "may use numpy only"),
    "planning compiles outside its rooms": (
        {"planning/plan/assemble.py": "import numba\n"},
        "plan/assemble.py:1: imports numba: may use numpy only",
    ),
    "machine code knows need": (
        {"planning/evaluate/clock.py": "from routing.need import ration\n"},
        "may import domain, planning only",
    ),
    "log folds data frames": ({"log/fold.py": "import pandas\n"}, "log/fold.py:1: imports pandas"),
    "log knows planning": ({"log/fold.py": "import routing.planning.plan\n"}, "may import domain, log only"),
    "planning trusts the audit": (
        {"planning/plan/day.py": "from routing.audit import audit\n"},
        "plan/day.py:1",
    ),
    "audit trusts planning": (
        {"audit/load.py": "from routing.planning.evaluate.loads import fill\n"},
        "audit/load.py:1: imports routing.planning.evaluate.loads: may import audit, domain, log only",
    ),
    "audit trusts need": (
        {"audit/rules/load.py": "from ...need.syrup import density\n"},
        "audit/rules/load.py:1: imports routing.need.syrup",
    ),
    "audit uses numpy": ({"audit/load.py": "import numpy\n"}, "audit/load.py:1: imports numpy"),
    "files knows need": (
        {"files/reader.py": "from ..need import ration\n"},
        "may import domain, files, log only",
    ),
    "reports knows app": ({"reports/map.py": "import routing.app.cli\n"}, "reports/map.py:1"),
    "reports takes the whole package": ({"reports/map.py": "import routing\n"}, "imports routing:"),
    "import hidden in a function": (
        {"reports/map.py": "def draw():\n    from routing.planning import schedule\n"},
        "reports/map.py:2",
    ),
    "import for types alone": (
        {"need/ration.py": "import typing\nif typing.TYPE_CHECKING:\n    from routing.files import x\n"},
        "need/ration.py:3",
    ),
    "import by name": (
        {"app/cli.py": "import importlib\nimportlib.import_module('pyvrp')\n"},
        "app/cli.py:2: imports pyvrp: pyvrp is spoken to from planning/engines/pyvrp only",
    ),
    "PyVRP outside its door": ({"planning/problem.py": "import pyvrp\n"}, "from planning/engines/pyvrp only"),
    "PyVRP through OR-Tools' door": (
        {"planning/exact/days.py": "from pyvrp import Model\n"},
        "exact/days.py:1",
    ),
    "OR-Tools through PyVRP's door": ({"planning/engines/pyvrp.py": "import ortools\n"}, "tank_choice only"),
    "OR-Tools in the app": ({"app/cli.py": "from ortools.sat import x\n"}, "app/cli.py:1"),
    "OR-Tools in the package itself": ({"__init__.py": "import ortools\n"}, "__init__.py:1: imports ortools"),
    "a folder of its own": ({"misc/tools.py": ""}, "misc/tools.py: no folder of the house"),
    "a loose module": ({"helpers.py": ""}, "helpers.py: no folder of the house"),
    "a ring of two": (
        {"need/a.py": "from routing.need.b import x\n", "need/b.py": "def f():\n    from .a import y\n"},
        "import cycle of modules: routing.need.",
    ),
    "a ring of folders": (
        {
            "reports/map/page.py": "from routing.reports.words import names\n",
            "reports/words/names.py": "",
            "reports/words/marks.py": "from routing.reports.map import style\n",
            "reports/map/style.py": "",
        },
        "import cycle of folders: reports/",
    ),
    "a crowded folder": (
        {f"need/part_{i}.py": "" for i in range(MAX_MODULES + 1)},
        f"need: {MAX_MODULES + 1} modules",
    ),
    "a ring through a package": (
        {"need/__init__.py": "from .a import x\n", "need/a.py": "from routing.need import y\n"},
        "import cycle of modules: routing.need",
    ),
    "an oversized module": ({"need/long.py": "x = 1\n" * (MAX_LINES + 1)}, "need/long.py: 401 lines"),
}


@pytest.mark.parametrize("files", SOUND.values(), ids=SOUND)
def test_sound_house_has_no_finding(tmp_path: Path, files: dict[str, str]) -> None:
    assert violations(_house(tmp_path, files)) == []


@pytest.mark.parametrize(("files", "told"), BROKEN.values(), ids=BROKEN)
def test_planted_violation_is_found(tmp_path: Path, files: dict[str, str], told: str) -> None:
    found = violations(_house(tmp_path, files))
    assert len(found) == 1
    assert told in found[0]


def test_libraries_are_told_from_the_standard_library(tmp_path: Path) -> None:
    root = _house(tmp_path, {"app/more.py": "import json, rich.table\nfrom . import cli\n"})
    assert libraries(root) == {"numpy", "rich"}


BESIDE = {
    "a test uses a benchmark": (
        {"tests/need/test_a.py": "from benchmarks.bounds import hold\n"},
        "tests/need/test_a.py:1: imports benchmarks.bounds: may import tests/need, tests/support only",
    ),
    "a test uses a test of another room": (
        {"tests/need/test_a.py": "from tests.log.test_b import day\n", "tests/log/test_b.py": ""},
        "imports tests.log.test_b",
    ),
    "a benchmark uses a test": (
        {"benchmarks/a.py": "def f():\n    from tests.need.test_a import day\n"},
        "benchmarks/a.py:2: imports tests.need.test_a: may import benchmarks, tests/support only",
    ),
    "a helper uses a benchmark": (
        {"tests/support/a.py": "import benchmarks.bounds\n"},
        "may import tests/support only",
    ),
    "a tool uses a benchmark": ({"tools/a.py": "from benchmarks import bounds\n"}, "tools/a.py:1"),
    "code in the docs": ({"docs/told.py": "x = 1\n"}, "docs/told.py: holds code"),
    "a ring of folders": (
        {
            "benchmarks/a.py": "from benchmarks.sets.b import x\n",
            "benchmarks/sets/b.py": "from benchmarks.c import y\n",
            "benchmarks/c.py": "",
        },
        "import cycle of folders: benchmarks",
    ),
    "a crowded folder": (
        {f"benchmarks/a{i}.py": "" for i in range(MAX_MODULES)},
        "benchmarks: 20 modules",
    ),
}


@pytest.mark.parametrize(("files", "told"), BESIDE.values(), ids=BESIDE)
def test_planted_violation_beside_the_package_is_found(
    tmp_path: Path, files: dict[str, str], told: str
) -> None:
    sound = {
        "tests/support/days.py": "import routing.domain.yard\n",
        "tests/need/test_sound.py": "from tests.support import days\nfrom tests.need import kept\n",
        "tests/benchmarks/test_sound.py": "import benchmarks.sound\n",
        "tests/tools/test_sound.py": "import tools.sound\n",
        "benchmarks/sound.py": "from tests.support import days\n",
        "tools/sound.py": "from tests.support.days import x\n",
    }
    for name, text in {**sound, **files}.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    (found,) = violations_beside(tmp_path)
    assert told in found
