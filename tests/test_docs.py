"""The pages for users tell of every command, option, exit code, column and key, and their links hold."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import typer

from routing.app.cli import cli
from routing.files.columns.all_tables import TABLES
from routing.files.columns.column import Table
from routing.files.columns.settings import SECTIONS
from routing.files.problems.codes import CODES

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
INPUT = (ROOT / "docs" / "input.md").read_text(encoding="utf-8")
PAGES = sorted([ROOT / "README.md", ROOT / "data_demo" / "README.md", *(ROOT / "docs").rglob("*.md")])

COMMAND = typer.main.get_command(cli.app)
COMMANDS = dict(COMMAND.commands)


def _options(name: str) -> set[str]:
    """The long options of a command, as typed, without --help."""
    params = COMMANDS[name].params
    return {o for p in params for o in p.opts if o.startswith("--") and o != "--help"}


def _option_rows() -> dict[str, set[str]]:
    """Commands by option, from the table in README."""
    rows = re.findall(r"^\| `(--[a-z-]+)` \| ([^|]+) \|", README, re.MULTILINE)
    return {option: {name.strip() for name in names.split(",")} for option, names in rows}


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_stands_in_the_readme(name: str) -> None:
    assert re.search(rf"^    feedround {name}\b", README, re.MULTILINE)


def test_the_readme_names_no_command_that_is_not_there() -> None:
    assert set(re.findall(r"^    feedround ([a-z]+)", README, re.MULTILINE)) <= set(COMMANDS)


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_option_of_a_command_stands_in_the_readme(name: str) -> None:
    listed = {option for option, names in _option_rows().items() if name in names}
    assert listed == _options(name)


@pytest.mark.parametrize("code", [cli.DONE, cli.SOMETHING_LEFT, cli.BAD_INPUT, cli.NO_PLAN])
def test_every_exit_code_stands_in_the_readme(code: int) -> None:
    assert re.search(rf"^\| {code} \|", README, re.MULTILINE)


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.file)
def test_every_column_stands_in_the_manual_under_its_file(table: Table) -> None:
    section = _after(f"## {table.file}", "\n## ")
    missing = [
        header for column in table.columns for header in column.headers if f"`{header}`" not in section
    ]
    assert missing == []


@pytest.mark.parametrize("name", sorted(SECTIONS))
def test_every_key_stands_in_the_manual_under_its_section(name: str) -> None:
    section = _after(f"### [{name}]", "\n##")
    missing = [h for column in SECTIONS[name].columns for h in column.headers if f"`{h}`" not in section]
    assert missing == []


def test_every_problem_code_stands_in_the_manual() -> None:
    assert [code for code in CODES if f"`{code}`" not in INPUT] == []


def test_every_file_of_the_folder_stands_in_the_readme() -> None:
    assert [table.file for table in TABLES if f"`{table.file}`" not in README] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_between_pages_lead_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    targets = re.findall(r"(?<!!)\[[^\]]+\]\((?!https?:)([^)#]+)[^)]*\)", text)
    assert [t for t in targets if not (page.parent / t).exists()] == []


def test_the_readme_opens_with_the_job_the_picture_and_two_commands() -> None:
    job, picture, commands = (README.index(x) for x in ("plans a day of feeding", "![", "    make demo"))
    assert job < picture < commands
    assert "make test" in README[commands : commands + 200]


def _after(heading: str, until: str) -> str:
    start = INPUT.index(heading)
    end = INPUT.find(until, start + len(heading))
    return INPUT[start : end if end > 0 else None]


def test_every_module_that_the_guide_names_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_]+/[a-z_/]+\.py)`", text))
    assert len(named) > 30
    assert sorted(n for n in named if not ((ROOT / "routing" / n).exists() or (ROOT / n).exists())) == []


def test_the_guide_shows_every_folder_of_the_house() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = {file.parent.name for file in (ROOT / "routing").rglob("*.py")} - {
        "routing",
        "planning",
        "shared",
        "note",
    }
    assert sorted(name for name in folders if f"{name}/`" not in text) == []
