"""Change the code of a room in one place at a time and see whether its tests notice: mutation testing.

``python -m tools.mutants audit --sample 150`` works in a copy of the project, with mutmut.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parents[1]
COPIED = ("routing", "tests", "docs", "data_demo", "README.md", "LICENSE", "DEVELOPERS.md")

ROOMS = {
    "audit": ("routing/audit/*", ["tests/audit"], "not mangled"),
    "need": ("routing/need/*", ["tests/need", "tests/published", "tests/audit/test_doses.py"], "not altered"),
    "evaluate": ("routing/planning/evaluate/*", ["tests/planning/evaluate"], ""),
}
"""By name: files to change, tests to run, and which of them (pytest's -k)."""

SETTINGS = """[project]
name = "feedround"
version = "0"
[tool.pytest.ini_options]
pythonpath = ["."]
addopts = "-q --import-mode=importlib -p no:xdist -p no:cacheprovider"
[tool.mutmut]
source_paths = ["routing"]
only_mutate = [{only}]
also_copy = ["docs", "data_demo", "README.md", "DEVELOPERS.md"]
pytest_add_cli_args_test_selection = {tests}
pytest_add_cli_args = {chosen}
use_git_change_detection = false
"""

KILLED = frozenset({1, 3, 24, 36, 152, 255, -24})
"""How the tests of a mutant end that is noticed: failed, or stopped for running without end."""


def main() -> int:
    """Run the mutants of a room and print how many are killed, and the others by name."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("room", choices=sorted(ROOMS))
    parser.add_argument("--sample", type=int, default=0, help="so many mutants by chance; 0: all")
    parser.add_argument("--seed", type=int, default=7)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        work = Path(place)
        _copy(work, asked.room)
        _mutmut(work, "nothing.of.this.name*")
        names = sorted(_results(work))
        few = random.Random(asked.seed).sample(names, min(asked.sample, len(names)))
        chosen = few if asked.sample else names
        _mutmut(work, *chosen)
        codes = _results(work)
        survived = [name for name in chosen if codes[name] not in KILLED]
        killed = len(chosen) - len(survived)
        print(f"{asked.room}: {len(names)} mutants, {len(chosen)} tried, {killed} killed")
        for name in survived:
            print(f"  survived: {name}")
            print(_mutmut(work, name, verb="show"))
    return 0


def _copy(work: Path, room: str) -> None:
    for name in COPIED:
        source = HERE / name
        if source.is_dir():
            shutil.copytree(source, work / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, work / name)
    only, tests, chosen = ROOMS[room]
    arguments = ["-k", chosen] if chosen else []
    text = SETTINGS.format(only=json.dumps(only), tests=json.dumps(tests), chosen=json.dumps(arguments))
    (work / "pyproject.toml").write_text(text, encoding="utf-8")


def _mutmut(work: Path, *names: str, verb: str = "run") -> str:
    """What mutmut shows; where no name fits, a run only lists the mutants and ends with an error."""
    more = ["--max-children", "1"] if verb == "run" else []
    command = [sys.executable, "-m", "mutmut", verb, *more, *names]
    done = subprocess.run(command, cwd=work, capture_output=True, text=True, check=False)
    return done.stdout if verb == "show" else ""


def _results(work: Path) -> dict[str, int | None]:
    found: dict[str, int | None] = {}
    for file in (work / "mutants").rglob("*.meta"):
        found |= json.loads(file.read_text(encoding="utf-8"))["exit_code_by_key"]
    return found


if __name__ == "__main__":
    sys.exit(main())
