"""Check that ids are given once, and that every id used stands where it is defined."""

from __future__ import annotations

from collections.abc import Mapping

from routing.files.columns.column import Column
from routing.files.problems.problems import Problems, suggest
from routing.files.settings.values import Settings
from routing.files.tables.records import Record, Records

CODE_BY_TABLE = {
    "yards": "unknown_yard",
    "feeders": "unknown_feeder",
    "syrups": "unknown_syrup",
    "trucks": "unknown_truck",
    "depots": "unknown_depot",
}


def check_doubled(tables: Mapping[str, Records], problems: Problems) -> None:
    """Every id once a table."""
    for records in tables.values():
        key = records.table.key
        seen: dict[tuple[object, ...], int] = {}
        for record in records if key else ():
            found = tuple(record.get(field) for field in key)
            if None in found:
                continue
            if found in seen:
                records.complain(
                    problems,
                    "doubled_id",
                    record,
                    key[-1],
                    f"{' '.join(map(str, found))} stands in row {seen[found]} already",
                    "give each row its own id, or remove one",
                )
            seen.setdefault(found, record.row)


def names_to_ids(tables: Mapping[str, Records]) -> None:
    """Put the id for a name in every column that refers to another table, where one row alone has that name.

    Letters and digits alone are compared: ``Moe's`` is the yard ``moes``.
    """
    ids = {name: _ids_by_name(records) for name, records in tables.items() if len(records.table.key) == 1}
    for records in tables.values():
        for column in records.table.columns:
            if column.refers and (known := ids[column.refers]):
                for record in records:
                    value = record.get(column.field)
                    if isinstance(value, tuple):
                        record.values[column.field] = tuple(dict.fromkeys(_known(known, v) for v in value))
                    elif value is not None:
                        record.values[column.field] = _known(known, value)


def check_references(tables: Mapping[str, Records], problems: Problems) -> None:
    """Every id used is defined. Tables that could not be read whole are not judged against."""
    known = {name: records.ids() for name, records in tables.items() if len(records.table.key) == 1}
    for records in tables.values():
        for column in records.table.columns:
            if column.refers and tables[column.refers].sound:
                _check_column(records, column, known[column.refers], problems)


def _ids_by_name(records: Records) -> dict[str, str]:
    """The id of each row by its id as typed, and by its folded id or name where no other row has the same."""
    key = records.table.key[0]
    exact = {str(word): str(word) for record in records if (word := record.get(key)) is not None}
    folded: dict[str, set[str]] = {}
    for record in records:
        for word in (record.get(key), record.get("name")):
            if word and record.get(key) is not None:
                folded.setdefault(_folded(str(word)), set()).add(str(record.get(key)))
    alone = {word: next(iter(found)) for word, found in folded.items() if word and len(found) == 1}
    return {**alone, **exact}


def _known(ids: Mapping[str, str], word: str) -> str:
    return ids.get(word, ids.get(_folded(word), word))


def _folded(text: str) -> str:
    return "".join(char for char in text.casefold() if char.isalnum())


def _check_column(records: Records, column: Column, known: Mapping[str, Record], problems: Problems) -> None:
    for record in records:
        value = record.get(column.field)
        for used in value if isinstance(value, tuple) else (value,):
            if used is not None and used not in known:
                records.complain(
                    problems,
                    CODE_BY_TABLE[column.refers],
                    record,
                    column.field,
                    f"{used} is not in {column.refers}",
                    suggest(used, [str(word) for word in known if word], column.refers),
                )


def usual_syrup(settings: Settings, tables: Mapping[str, Records], problems: Problems) -> str | None:
    """The usual syrup: the one typed, else the only one there is. None when there is none to be had."""
    syrups = tables["syrups"]
    known = [word for word in syrups.ids() if word]
    typed = settings.groups["feeding"].syrup_id
    if typed:
        if syrups.sound and typed not in known:
            problems.add(
                "unknown_syrup",
                settings.file,
                settings.row("feeding.syrup_id"),
                "feeding.syrup_id",
                typed,
                f"{typed} is not in syrups",
                suggest(typed, known, "syrups"),
            )
        return str(typed)
    if len(known) == 1:
        return known[0]
    user = _first_without_syrup(tables)
    if user is not None and syrups.sound and settings.readable:
        problems.add(
            "no_usual_syrup",
            settings.file,
            0,
            "feeding.syrup_id",
            "",
            f"there is no usual syrup, and {user.sheet.file} row {user.row} names none",
            suggest("", known, "syrups").strip() + "; write one as feeding.syrup_id",
        )
    return known[0] if known else None


def _first_without_syrup(tables: Mapping[str, Records]) -> Record | None:
    for record in tables["colonies"]:
        if record.get("syrup_id") is None:
            return record
    for record in tables["tanks"]:
        if record.get("syrup_id") is None and record.get("level_l"):
            return record
    return None
