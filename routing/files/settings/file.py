"""Read operation.toml, or the sheet that stands for it, into rows of section, key and value."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import Any

from routing.files.columns.settings import SECTIONS
from routing.files.problems.problems import Problems, listed, nearest
from routing.files.tables.tables import Sheet, read_text

MOST_TOML = 100_000
_DEEP = re.compile(r"""\s*\[*(?:[^.=#]*\.){10}""")


@dataclass(frozen=True)
class Entry:
    """One key as typed. ``value`` is text where it comes from a sheet, else what TOML made of it."""

    section: str
    key: str
    value: Any
    row: int


@dataclass(frozen=True)
class SettingsSource:
    """All keys of one source; ``typed`` tells TOML values, which have a type, from cells, which have none."""

    file: str
    entries: tuple[Entry, ...]
    typed: bool


def read_toml(path: Path, problems: Problems) -> SettingsSource | None:
    """The keys of operation.toml; None when it cannot be read."""
    text = read_text(path, problems)
    if text is None or not _plain_enough(text, path.name, problems):
        return None
    try:
        # tomllib takes bare line feeds only.
        content = tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        found = re.search(r"line (\d+)", str(error))
        row = int(found[1]) if found else 0
        problems.add(
            "toml_syntax",
            path.name,
            row,
            "",
            _line(text, row),
            f"this is not valid TOML ({error})",
            "text and times stand in quotation marks, numbers without; one key = value a line",
        )
        return None
    rows = _key_rows(text)
    entries = []
    for section, keys in content.items():
        if not isinstance(keys, dict):
            problems.warn(
                "unknown_key",
                path.name,
                rows.get(("", section), 0),
                section,
                keys,
                "this key stands in no section and is ignored",
                f"move it under one of {listed(list(SECTIONS))}",
            )
            continue
        row = rows.get((section, ""), 0)
        entries += [Entry(section, key, value, rows.get((section, key), row)) for key, value in keys.items()]
        if not keys:
            entries.append(Entry(section, "", "", row))
    return SettingsSource(path.name, tuple(entries), typed=True)


def _plain_enough(text: str, file: str, problems: Problems) -> bool:
    """Whether the text has the size and depth of settings; other text can keep a parser busy for minutes."""
    deep = next((n for n, line in enumerate(text.splitlines(), 1) if _DEEP.match(line)), 0)
    if len(text) <= MOST_TOML and not deep:
        return True
    problems.add(
        "too_large",
        file,
        deep,
        "",
        "",
        "a key has more than ten parts" if deep else f"the file is longer than {MOST_TOML:,} letters",
        "keep to the sections and keys of the manual",
    )
    return False


def _line(text: str, row: int) -> str:
    lines = text.splitlines()
    return lines[row - 1] if 0 < row <= len(lines) else ""


def _key_rows(text: str) -> dict[tuple[str, str], int]:
    """The line of every plain ``key =`` and ``[section]``; what is written in other ways is not found."""
    rows: dict[tuple[str, str], int] = {}
    section = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if head := re.match(r"\s*\[\s*([A-Za-z0-9_-]+)\s*\]", line):
            section = head[1]
            rows.setdefault((section, ""), number)
        elif key := re.match(r"""\s*["']?([A-Za-z0-9_-]+)["']?\s*=""", line):
            rows.setdefault((section, key[1]), number)
    return rows


def read_settings_sheet(sheet: Sheet, problems: Problems) -> SettingsSource | None:
    """The keys of a sheet with the columns section, key and value."""
    lacking = [name for name in ("section", "key", "value") if name not in sheet.headers]
    for name in lacking:
        problems.add(
            "missing_column",
            sheet.file,
            1,
            name,
            "",
            f"the column {name} is missing",
            "the sheet has the columns section, key and value",
        )
    if lacking:
        return None
    at = [sheet.headers.index(name) for name in ("section", "key", "value")]
    entries: dict[tuple[str, str], Entry] = {}
    for row, cells in sheet.rows:
        section, key, value = (cells[i] if i < len(cells) else "" for i in at)
        if (section, key) in entries:
            problems.add(
                "doubled_key",
                sheet.file,
                row,
                key,
                value,
                f"{section}.{key} stands in row {entries[section, key].row} already",
                "remove one of them",
            )
        elif value:
            entries[section, key] = Entry(section, key, value, row)
    return SettingsSource(sheet.file, tuple(entries.values()), typed=False)


def warn_unknown(source: SettingsSource, problems: Problems) -> None:
    """Report sections and keys that nothing reads."""
    strange: set[str] = set()
    for entry in source.entries:
        if entry.section not in SECTIONS:
            if entry.section not in strange:
                hint = nearest(entry.section, list(SECTIONS))
                problems.warn(
                    "unknown_section",
                    source.file,
                    entry.row,
                    f"[{entry.section}]",
                    entry.section,
                    "this section is not known and is ignored",
                    hint or f"the sections are {listed(list(SECTIONS))}",
                )
            strange.add(entry.section)
        elif entry.key and entry.key not in SECTIONS[entry.section].by_header:
            known = list(SECTIONS[entry.section].by_header)
            problems.warn(
                "unknown_key",
                source.file,
                entry.row,
                f"{entry.section}.{entry.key}",
                entry.value,
                "this key is not known and is ignored",
                nearest(entry.key, known) or f"known keys: {listed(known, 30)}",
            )


def as_text(value: Any) -> str:
    """A TOML value as the text a cell would hold."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, time):
        return value.isoformat("minutes")
    if isinstance(value, date):
        return value.isoformat()
    return repr(value) if isinstance(value, float) else str(value).strip()
