"""Write what an installation brings with it: ``python -m tools.packages`` (``make packages``).

Writes docs/packages.md (size and licence of every package that feedround installs) and
.ci/constraints.txt (the versions that the tests ran with), from what is installed where it runs.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "packages.md"
CONSTRAINTS = ROOT / ".ci" / "constraints.txt"

HEAD = """\
# What an installation brings

`pip install` of feedround takes about {total_mb:.0f} MB ({count} packages, Python {python} on
{system}). Four of them are most of it: {largest}. All four are at work: llvmlite compiles the
search, scipy finds the drives on roads, OR-Tools chooses tanks, proves small days and bounds large
ones, pandas makes the tables. matplotlib and what only it needs ({plotting_mb:.0f} MB) come with
PyVRP, which plots with it; feedround never imports it. fontTools comes with fpdf2, which puts only
the letters used into a PDF.

feedround itself is under the MIT licence. **fpdf2 is under the LGPL-3.0**: it is used as an
unchanged library that is installed beside feedround. Whoever bundles both into one program must let
its users replace fpdf2 (LGPL-3.0, section 4). certifi and a part of tqdm are under the MPL-2.0,
which asks for the source of changes to their own files. The other licences are permissive. In the
package itself lie Leaflet (BSD-2-Clause, `routing/reports/map/assets`) and the DejaVu fonts (their
own free licence, `routing/reports/printing/fonts`).

Written by `make packages`.

| package | version | MB | licence | brought by |
|---|---|---|---|---|
"""


@dataclass(frozen=True)
class Package:
    """An installed package, and the names of those that ask for it."""

    name: str
    version: str
    size_mb: float
    licence: str
    brought_by: tuple[str, ...]


def closure(requirements: Iterable[str], brought_by: str = "feedround") -> dict[str, Package]:
    """Every installed package that requirements lead to, by canonical name."""
    asked: dict[str, set[str]] = {}
    waiting = [(Requirement(line), brought_by) for line in requirements]
    while waiting:
        requirement, by = waiting.pop()
        if requirement.marker is not None and not requirement.marker.evaluate({"extra": ""}):
            continue
        name = canonicalize_name(requirement.name)
        known = name in asked
        asked.setdefault(name, set()).add(by)
        if not known:
            waiting += [(Requirement(line), name) for line in _installed(name).requires or ()]
    return {name: _package(name, asked[name]) for name in sorted(asked)}


def _installed(name: str) -> Distribution:
    try:
        return distribution(name)
    except PackageNotFoundError:
        sys.exit(f'{name} is not installed: pip install -e ".[test,dev]" first')


def _package(name: str, asked: set[str]) -> Package:
    found = _installed(name)
    files = (Path(str(file.locate())) for file in found.files or ())
    size = sum(path.stat().st_size for path in files if path.is_file())
    return Package(name, found.version, size / 1e6, _licence(found), tuple(sorted(asked)))


def _licence(found: Distribution) -> str:
    told = found.metadata.get("License-Expression") or ""
    classifiers = found.metadata.get_all("Classifier") or ()
    classes = [text.rpartition(" :: ")[2] for text in classifiers if text.startswith("License ::")]
    written = (found.metadata.get("License") or "").strip()
    return told or "; ".join(classes) or (written if "\n" not in written else "") or "see its metadata"


def page(packages: dict[str, Package]) -> str:
    """docs/packages.md: the largest first."""
    by_size = sorted(packages.values(), key=lambda one: (-round(one.size_mb), one.name))
    plotting = [one for one in by_size if one.name == "matplotlib" or one.brought_by == ("matplotlib",)]
    head = HEAD.format(
        total_mb=round(sum(one.size_mb for one in by_size), -1),
        count=len(by_size),
        python=f"{sys.version_info.major}.{sys.version_info.minor}",
        system=sys.platform,
        largest=", ".join(f"{one.name} {one.size_mb:.0f}" for one in by_size[:4]),
        plotting_mb=sum(one.size_mb for one in plotting),
    )
    rows = [
        f"| {one.name} | {one.version} | {one.size_mb:.1f} | {one.licence} | {', '.join(one.brought_by)} |"
        for one in by_size
    ]
    return head + "\n".join(rows) + "\n"


def main() -> None:
    """Write both files."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    PAGE.write_text(page(closure(project["dependencies"])), encoding="utf-8")
    tested = closure([*project["dependencies"], *extras["test"], *extras["dev"]])
    lines = ["# Versions that the tests ran with; written by `make packages`."]
    lines += [f"{one.name}=={one.version}" for one in tested.values()]
    CONSTRAINTS.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
