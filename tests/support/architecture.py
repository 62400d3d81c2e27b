"""Read a package's imports from its source and hold them against the rules of the house."""

from __future__ import annotations

import ast
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

PACKAGE = "routing"
MAX_LINES = 400
"""A module that is longer holds two ideas. Around 300 lines, ask."""
MAX_MODULES = 19
"""A folder that holds more holds two ideas."""
EVERYTHING = frozenset({"domain", "log", "need", "travel", "planning", "audit", "files", "reports", "app"})


@dataclass(frozen=True)
class Rule:
    """What modules under a path may import: folders of the house, and libraries (None: any but a solver)."""

    folders: frozenset[str]
    libraries: frozenset[str] | None


DOMAIN = frozenset({"domain"})
PLANNING = Rule(frozenset({"domain", "log", "need", "planning"}), frozenset({"numpy"}))
MACHINE_CODE = Rule(frozenset({"domain", "planning"}), frozenset({"numpy", "numba"}))

RULES = {
    "domain": Rule(DOMAIN, frozenset({"numpy"})),
    "log": Rule(DOMAIN | {"log"}, frozenset()),
    "log/learn": Rule(DOMAIN | {"log"}, frozenset({"pandas"})),
    "need": Rule(DOMAIN | {"log", "need"}, frozenset({"astral"})),
    "travel": Rule(DOMAIN | {"travel"}, frozenset({"numpy", "scipy", "networkx", "geopy", "osmium"})),
    "planning": PLANNING,
    "planning/machine_code": MACHINE_CODE,
    "planning/evaluate": MACHINE_CODE,
    "planning/search": MACHINE_CODE,
    "planning/bound": MACHINE_CODE,
    "audit": Rule(DOMAIN | {"log", "audit"}, frozenset({"astral"})),
    "files": Rule(DOMAIN | {"log", "files"}, None),
    "reports": Rule(DOMAIN | {"log", "reports"}, None),
    "app": Rule(EVERYTHING, None),
}
"""By folder, the deepest that holds a module."""

BESIDE_FOLDERS = ("benchmarks", "data_demo", "docs", "tests", "tools")
HELPERS = "tests/support"
BESIDE = {
    HELPERS: frozenset({HELPERS}),
    "tests/benchmarks": frozenset({HELPERS, "benchmarks"}),
    "tests/tools": frozenset({HELPERS, "tools"}),
    "tests": frozenset({HELPERS}),
    "benchmarks": frozenset({HELPERS, "benchmarks"}),
    "tools": frozenset({HELPERS, "tools"}),
}
"""Folders beside the package that hold code, and from which of them their modules may import.

The deepest folder counts; a module's own folder is always allowed. Docs and data hold no code.
"""

DOORS = {
    "pyvrp": ("planning/engines/pyvrp",),
    "ortools": (
        "planning/engines/ortools",
        "planning/exact/",
        "planning/bound/",
        "planning/problem/tank_choice",
    ),
    "osrm": ("travel/engine/",),
}
"""A solver is spoken to from paths that begin so, and from nowhere else."""


@dataclass(frozen=True)
class Import:
    """One import: the dotted name, as far as it names a module of the package, and its line."""

    name: str
    line: int


@dataclass(frozen=True)
class Module:
    """A module of the package: dotted name, path below the package, and what it imports anywhere in it."""

    name: str
    path: str
    lines: int
    imports: tuple[Import, ...]


def read_package(root: Path) -> dict[str, Module]:
    """Every module below ``root`` (the package folder), by dotted name."""
    return {module.name: module for module in _modules(root, sorted(root.rglob("*.py")), (PACKAGE,))}


def violations(root: Path) -> list[str]:
    """Everything in the package that breaks a rule, one line each."""
    modules = read_package(root)
    found = [line for module in modules.values() for line in _broken_rules(module)]
    found += [
        f"{module.path}: {module.lines} lines, more than {MAX_LINES}: is it two ideas?"
        for module in modules.values()
        if module.lines > MAX_LINES
    ]
    return (
        found
        + _crowded(modules)
        + _cycles(modules, "modules", _itself)
        + _cycles(modules, "folders", _folder)
    )


def violations_beside(root: Path) -> list[str]:
    """Everything beside the package (tests, benchmarks, tools) that breaks a rule, one line each."""
    files = [file for folder in BESIDE_FOLDERS for file in sorted((root / folder).rglob("*.py"))]
    modules = {m.name: m for m in _modules(root, files, ())}
    found = [line for module in modules.values() for line in _out_of_place(module)]
    mirrored = {name: m for name, m in modules.items() if not _within(m.path, "tests")}
    return found + _crowded(mirrored) + _cycles(modules, "folders", _folder)


def libraries(root: Path) -> set[str]:
    """Top-level names of every library imported anywhere in the package."""
    imports = (found for module in read_package(root).values() for found in module.imports)
    return {top for found in imports if _is_library(top := found.name.partition(".")[0])}


def _modules(root: Path, files: list[Path], above: tuple[str, ...]) -> list[Module]:
    """The modules of some files below ``root``, whose own dotted name is ``above``."""
    names = {_dotted(root, file, above): file for file in files}
    return [_read(root, file, name, frozenset(names)) for name, file in names.items()]


def _dotted(root: Path, file: Path, above: tuple[str, ...]) -> str:
    parts = (*above, *file.relative_to(root).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _read(root: Path, file: Path, name: str, known: frozenset[str]) -> Module:
    text = file.read_text(encoding="utf-8")
    package = name if file.name == "__init__.py" else name.rpartition(".")[0]
    imports = tuple(_imports(ast.parse(text), package, known))
    return Module(name, file.relative_to(root).as_posix(), len(text.splitlines()), imports)


def _imports(tree: ast.AST, package: str, known: frozenset[str]) -> Iterator[Import]:
    """Imports at the top, inside functions, under TYPE_CHECKING, and by import_module with a literal."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (Import(alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = _base(node, package)
            for alias in node.names:
                whole = f"{base}.{alias.name}"
                if whole != f"{PACKAGE}.__version__":
                    yield Import(whole if whole in known else base, node.lineno)
        elif isinstance(node, ast.Call) and _by_name(node.func) in ("import_module", "__import__"):
            for value in node.args[:1]:
                if isinstance(value, ast.Constant) and isinstance(value.value, str):
                    yield Import(value.value, node.lineno)


def _base(node: ast.ImportFrom, package: str) -> str:
    """The dotted name imported from, with leading dots resolved."""
    if not node.level:
        return node.module or ""
    parts = package.split(".")
    above = parts[: len(parts) - node.level + 1]
    return ".".join([*above, node.module] if node.module else above)


def _by_name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def _rule(path: str) -> Rule | None:
    """The rule that governs a path; None where the house has no such folder."""
    if path in ("__init__.py", "__main__.py"):
        return Rule(EVERYTHING, None)
    fitting = [key for key in RULES if path.startswith(f"{key}/")]
    return RULES[max(fitting, key=len)] if fitting else None


def _broken_rules(module: Module) -> Iterator[str]:
    rule = _rule(module.path)
    if rule is None:
        yield f"{module.path}: no folder of the house: it has {', '.join(sorted(EVERYTHING))}"
        return
    for found in module.imports:
        top = found.name.partition(".")[0]
        where = f"{module.path}:{found.line}: imports {found.name}"
        if top == PACKAGE and not _may_use(rule, found.name):
            yield f"{where}: may import {', '.join(sorted(rule.folders))} only"
        elif top in DOORS:
            if not module.path.startswith(DOORS[top]):
                yield f"{where}: {top} is spoken to from {' and '.join(DOORS[top])} only"
        elif _is_library(top) and rule.libraries is not None and top not in rule.libraries:
            yield f"{where}: may use {', '.join(sorted(rule.libraries)) or 'the standard library'} only"


def _out_of_place(module: Module) -> Iterator[str]:
    """Rules of ``BESIDE`` that a module breaks."""
    home = max((key for key in BESIDE if _within(module.path, key)), key=len, default=None)
    if home is None:
        yield f"{module.path}: holds code: it belongs in {', '.join(sorted(BESIDE))}"
        return
    beside = {key.partition("/")[0] for key in BESIDE}
    for found in module.imports:
        path = found.name.replace(".", "/")
        allowed = BESIDE[home] | {_folder(module)}
        if path.partition("/")[0] in beside and not any(_within(path, key) for key in allowed):
            only = ", ".join(sorted(allowed))
            yield f"{module.path}:{found.line}: imports {found.name}: may import {only} only"


def _within(path: str, folder: str) -> bool:
    return path == folder or path.startswith(f"{folder}/")


def _may_use(rule: Rule, name: str) -> bool:
    """Whether a module of the package may be imported."""
    return rule.folders >= (set(name.split(".")[1:2]) or EVERYTHING)


def _is_library(top: str) -> bool:
    return top != PACKAGE and top not in sys.stdlib_module_names and top != "__future__"


def _itself(module: Module) -> str:
    return module.name


def _folder(module: Module) -> str:
    return module.path.rpartition("/")[0] or "."


def _crowded(modules: dict[str, Module]) -> list[str]:
    """Folders with more modules than one idea needs."""
    counts = Counter(_folder(m) for m in modules.values() if not m.path.endswith("__init__.py"))
    return [
        f"{folder}: {count} modules, more than {MAX_MODULES}: is it two ideas?"
        for folder, count in sorted(counts.items())
        if count > MAX_MODULES
    ]


def _cycles(modules: dict[str, Module], what: str, of: Callable[[Module], str]) -> list[str]:
    """The first ring of modules, or of folders, that import each other, if any."""
    graph: dict[str, set[str]] = {}
    for module in modules.values():
        used = {of(modules[found.name]) for found in module.imports if found.name in modules}
        graph.setdefault(of(module), set()).update(used - {of(module)})
    try:
        TopologicalSorter({node: sorted(used) for node, used in sorted(graph.items())}).prepare()
    except CycleError as error:
        return [f"import cycle of {what}: {' <- '.join(error.args[1])}"]
    return []
