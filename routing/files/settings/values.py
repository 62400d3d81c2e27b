"""Turn the keys of operation.toml into the settings of an operation."""

from __future__ import annotations

import re
from dataclasses import MISSING, dataclass, fields
from datetime import date, time
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from routing.domain.errors import ValueRefused
from routing.domain.settings import CIRCUITY, ShiftSettings
from routing.files.columns.column import Column
from routing.files.columns.settings import SECTIONS, SETTINGS_TYPES
from routing.files.columns.unit_family import Name
from routing.files.problems.problems import Problems, nearest
from routing.files.settings.file import Entry, SettingsSource, as_text, warn_unknown
from routing.files.tables.spelling import Bad
from routing.files.tables.values import parse, plain_number, window

OVERTIME_FACTOR = 1.5
"""Time and a half: common practice, no source."""


@dataclass(frozen=True)
class Settings:
    """The five groups of settings, the head of the file, and what was typed.

    ``readable`` False: the file could not be read, and nothing can be held against what it says.
    """

    head: dict[str, Any]
    groups: dict[str, Any]
    given: frozenset[str]
    file: str
    rows: dict[str, int]
    readable: bool = True

    def row(self, key: str) -> int:
        """The line of a key such as ``feeding.syrup_id``, 0 when it was not typed."""
        return self.rows.get(key, 0)


def read_settings(source: SettingsSource | None, name: str, problems: Problems) -> Settings:
    """All settings; defaults where nothing is typed. ``name`` is used when the operation has none."""
    readable = source is not None
    source = source or SettingsSource("operation.toml", (), typed=True)
    warn_unknown(source, problems)
    values: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    rows: dict[str, int] = {}
    for entry in source.entries:
        table = SECTIONS.get(entry.section)
        found = table.by_header.get(entry.key) if table else None
        if found:
            key = f"{entry.section}.{found[0].field}"
            _read(source, entry, *found, values[entry.section], key in rows, problems)
            rows.setdefault(key, entry.row)
    head = {"name": name, **values.pop("operation")}
    if readable:
        _check_head(source, head, rows, problems)
    given = frozenset(f"{s}.{f}" for s, found in values.items() for f in found)
    groups = _groups(source, values, rows, problems)
    shift = {"shift.window"} if given & {"shift.start_s", "shift.end_s"} else set()
    return Settings(
        head, groups, (given - {"shift.start_s", "shift.end_s"}) | shift, source.file, rows, readable
    )


def _read(
    source: SettingsSource,
    entry: Entry,
    column: Column,
    name: Name,
    values: dict[str, Any],
    again: bool,
    problems: Problems,
) -> None:
    label = f"{entry.section}.{entry.key}"
    text = as_text(entry.value)
    if column.kind in ("text", "id") and text == "":
        return
    try:
        if source.typed:
            _check_type(column, entry.value)
        value = parse(column, name.unit, text)
    except Bad as bad:
        problems.add(bad.code, source.file, entry.row, label, text, bad.wrong, bad.remedy)
        return
    before = values.get(column.field)
    if again and before is not None and not _agree(before, value):
        problems.add(
            "two_units",
            source.file,
            entry.row,
            label,
            text,
            f"{' and '.join(column.headers)} disagree",
            "keep one of them",
        )
    values[column.field] = value


def _agree(a: Any, b: Any) -> bool:
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= 0.01 * max(abs(a), abs(b))
    return bool(a == b)


def _check_type(column: Column, value: Any) -> None:
    """Raise ``Bad`` for a TOML value of another type than the key has."""
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    fits = {
        "number": is_number,
        "whole": is_number,
        "yes_no": isinstance(value, (bool, str)) or value in (0, 1),
        "time": isinstance(value, (str, time)),
        "date": isinstance(value, (str, date)),
    }.get(column.kind, isinstance(value, str))
    if fits:
        return
    wanted = {"number": "a number", "whole": "a whole number", "yes_no": "true or false"}.get(
        column.kind, "text in quotation marks"
    )
    remedy = f"write {wanted}"
    if column.kind in ("number", "whole") and isinstance(value, str):
        try:
            plain_number(value.strip())
            remedy = f"write {value.strip()} without quotation marks"
        except Bad:
            pass
    raise Bad("wrong_type", f"this is not {wanted}", remedy)


def _check_head(
    source: SettingsSource, head: dict[str, Any], rows: dict[str, int], problems: Problems
) -> None:
    for column in SECTIONS["operation"].columns:
        key = f"operation.{column.field}"
        if column.required and column.field not in head and key not in rows:
            problems.add(
                "missing_key",
                source.file,
                0,
                key,
                "",
                f"{column.headers[0]} is missing in [operation]",
                f"add it: {column.meaning}",
            )
    zone = head.get("timezone")
    if zone is not None and not known_zone(zone):
        head.pop("timezone")
        problems.add(
            "unknown_timezone",
            source.file,
            rows.get("operation.timezone", 0),
            "operation.timezone",
            zone,
            "there is no such time zone",
            nearest(zone, sorted(filter(known_zone, available_timezones())))
            or "write the Area/City of your clock, such as America/Chicago",
        )
    money = head.get("currency")
    if money is not None and not re.fullmatch("[A-Z]{3}", money):
        problems.add(
            "bad_currency",
            source.file,
            rows.get("operation.currency", 0),
            "operation.currency",
            money,
            "a currency is its three-letter ISO 4217 code",
            "write it like USD or EUR",
        )


def known_zone(name: str) -> bool:
    """Whether an IANA time zone of that name exists; UTC, Etc/GMT+5 and EST5EDT name no place's clock."""
    if "/" not in name or name.startswith(("Etc/", "posix/", "right/")):
        return False
    try:
        ZoneInfo(name)
    except Exception:
        # An odd name fails as a missing key, a bad path, or a directory, by its shape and the platform.
        return False
    return True


def _groups(
    source: SettingsSource, values: dict[str, dict[str, Any]], rows: dict[str, int], problems: Problems
) -> dict[str, Any]:
    cost, shift = values["cost"], dict(values["shift"])
    if values["travel"].get("network") in CIRCUITY:
        values["travel"].setdefault("circuity", CIRCUITY[values["travel"]["network"]])
    if "labor_per_h" in cost and "overtime_per_h" not in cost:
        cost["overtime_per_h"] = round(OVERTIME_FACTOR * cost["labor_per_h"], 6)
    default = _default(ShiftSettings, "window")
    start_s = shift.pop("start_s", default.start_s)
    end_s = shift.pop("end_s", default.end_s)
    try:
        shift["window"] = window(start_s, end_s)
    except Bad as bad:
        row = rows.get("shift.end_s", rows.get("shift.start_s", 0))
        at = f"{start_s // 3600:02d}:{start_s % 3600 // 60:02d}"
        problems.add(bad.code, source.file, row, "shift.start", at, bad.wrong, bad.remedy)
    groups = {}
    for section, kind in SETTINGS_TYPES.items():
        try:
            groups[section] = kind(**(shift if section == "shift" else values[section]))
        except ValueRefused as refused:
            problems.add(
                "refused", source.file, 0, f"[{section}]", "", str(refused), "check the keys of this section"
            )
            groups[section] = kind()
    return groups


def _default(kind: type, name: str) -> Any:
    found = next(f.default for f in fields(kind) if f.name == name)
    assert found is not MISSING
    return found
