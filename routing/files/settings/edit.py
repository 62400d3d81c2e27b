"""Change single numbers of operation.toml and leave every other letter of it as it is."""

from __future__ import annotations

import re
import tomllib

from routing.domain.errors import FeedroundError
from routing.files.columns.column import Column
from routing.files.columns.settings import SECTIONS
from routing.files.columns.unit_family import Name

_US = ("_gal", "_mph", "_lb", "_f", "_mi", "_ft")


def edited(text: str, section: str, field: str, si: float, units: str) -> tuple[str, str]:
    """The text with one setting at a new SI value, and the line as it then stands.

    The key keeps the unit it is written in; one that is not there yet is added under its section in the
    operation's units. Comments, order and line endings stay. Raises FeedroundError when the file writes
    the key in a way that cannot be changed safely.
    """
    column = SECTIONS[section].column(field)
    newline = "\r\n" if "\r\n" in text else "\n"
    lines = text.split("\n")
    first, last = _span(lines, section)
    for number in range(first, last):
        found = re.match(r"(\s*)([A-Za-z0-9_-]+)(\s*=\s*)([^#\r]*?)(\s*(?:#.*)?\r?)$", lines[number])
        name = next((n for n in column.names if found and n.header == found[2]), None)
        if found and name:
            lines[number] = f"{found[1]}{found[2]}{found[3]}{_number(name, si)}{found[5]}"
            return _checked(text, "\n".join(lines), section, name, si), lines[number].strip()
    name = _name(column, units)
    line = f"{name.header} = {_number(name, si)}"
    ending = "\r" if newline == "\r\n" else ""
    if first < 0:
        tail = [] if text.endswith("\n") or not text else [ending]
        lines = [*(lines[:-1] if text.endswith("\n") else lines), *tail]
        lines += [ending, f"[{section}]{ending}", line + ending, ""]
    else:
        at = last
        while at > first and not lines[at - 1].strip():
            at -= 1
        if at == len(lines):
            lines[-1] += ending
            lines.append(line)
        else:
            lines.insert(at, line + ending)
    return _checked(text, "\n".join(lines), section, name, si), line


def _span(lines: list[str], section: str) -> tuple[int, int]:
    """The lines of a section after its head, up to the next head; (-1, -1) where there is none."""
    first = -1
    for number, line in enumerate(lines):
        head = re.match(r"\s*\[\s*([A-Za-z0-9_-]+)\s*\]", line)
        if head and first >= 0:
            return first, number
        if head and head[1] == section:
            first = number + 1
    return first, len(lines) if first >= 0 else -1


def _name(column: Column, units: str) -> Name:
    """The spelling of a key in the operation's units."""
    us = [n for n in column.names if n.header.endswith(_US)]
    metric = [n for n in column.names if n not in us]
    return ((us if units == "us" else metric) or list(column.names))[0]


def _number(name: Name, si: float) -> str:
    value = float(f"{name.unit.from_si(si):.4g}")
    return str(int(value)) if value.is_integer() else repr(value)


def _checked(before: str, after: str, section: str, name: Name, si: float) -> str:
    """The new text, when reading it shows that one value and no other has changed."""
    wrong = f"operation.toml: {section}.{name.header} is written in a way that cannot be changed safely"
    try:
        old, new = (tomllib.loads(text.replace("\r\n", "\n")) for text in (before, after))
    except tomllib.TOMLDecodeError as error:
        raise FeedroundError(f"{wrong}: change it by hand to {_number(name, si)}") from error
    typed = new.get(section, {}).get(name.header)
    old.setdefault(section, {})[name.header] = typed
    if old != new or not isinstance(typed, (int, float)) or float(_number(name, si)) != typed:
        raise FeedroundError(f"{wrong}: change it by hand to {_number(name, si)}")
    return after
