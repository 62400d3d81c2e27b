"""What is declared is used, and what an installation brings is told with its licences."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from tests.support.architecture import libraries
from tools.packages import closure, page

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
DECLARED = sorted(
    re.split(r"[^A-Za-z0-9._-]", line, maxsplit=1)[0].lower() for line in PROJECT["dependencies"]
)
DATA = {
    "tzdata": "holds data only; zoneinfo finds it, and files/operation/zone_places reads its list of zones"
}
"""Declared packages that nothing imports, and what they are for."""


def _normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


@pytest.mark.parametrize("name", DECLARED)
def test_every_declared_dependency_is_imported_somewhere(name: str) -> None:
    """What nothing imports is installed by every user for nothing."""
    modules = {
        module for module, found in packages_distributions().items() if name in {d.lower() for d in found}
    }
    assert name in DATA or modules & libraries(ROOT / "routing")


@pytest.mark.parametrize("name", DECLARED)
def test_every_declared_dependency_stands_in_the_list_of_licences(name: str) -> None:
    told = (ROOT / "docs" / "packages.md").read_text(encoding="utf-8")
    assert f"| {_normal(name)} | " in told, "run make packages"


def test_constraints_name_a_version_of_every_declared_dependency() -> None:
    text = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    pinned = dict(line.split("==") for line in text.splitlines() if not line.startswith("#"))
    assert {_normal(name) for name in DECLARED} <= set(pinned), "run make packages"
    assert all(re.fullmatch(r"[0-9][0-9a-z.+!]*", version) for version in pinned.values())


def test_the_list_names_licence_size_and_who_asks() -> None:
    packages = closure(PROJECT["dependencies"])
    assert packages["fpdf2"].licence.startswith("LGPL-3.0")
    assert packages["llvmlite"].brought_by == ("numba",)
    assert packages["matplotlib"].brought_by == ("pyvrp",)
    assert packages["llvmlite"].size_mb > packages["pyvrp"].size_mb > 0
    assert "pytest" not in packages
    assert "| fpdf2 | " in page(packages)
