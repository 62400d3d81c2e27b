"""Turn rows of text into records of values by the list of columns, noting every problem on the way."""

from __future__ import annotations

from typing import Any

from routing.files.columns.column import Column, Table
from routing.files.columns.unit_family import Name
from routing.files.problems.problems import Problems, listed, nearest
from routing.files.tables.records import Record, Records
from routing.files.tables.spelling import Bad
from routing.files.tables.tables import Sheet
from routing.files.tables.values import parse

_Parsed = tuple[Any, Bad | None]


def read_records(table: Table, sheet: Sheet, problems: Problems) -> Records:
    """Every row of a sheet as a record."""
    records = Records(table, sheet.file, sound=sheet.sound)
    if not sheet.headers:
        records.sound = False
        if sheet.sound:
            _empty(table, sheet, problems)
        return records
    places = _places(table, sheet, problems)
    _merged(places, sheet, problems)
    if not sheet.rows and sheet.sound and not table.may_be_empty:
        _empty(table, sheet, problems)
    records.sound = (
        records.sound and bool(sheet.rows or table.may_be_empty) and all(key in places for key in table.key)
    )
    reader = _RowReader(sheet, places, problems)
    columns = [(column, places[column.field]) for column in table.columns if column.field in places]
    absent = {c.field: c.default for c in table.columns if c.field not in places and c.default is not None}
    for row, cells in sheet.rows:
        records.rows.append(reader.record(row, cells, columns, absent))
    return records


def _empty(table: Table, sheet: Sheet, problems: Problems) -> None:
    problems.add(
        "empty_table",
        sheet.file,
        1,
        "",
        "",
        "the table has no rows",
        f"add rows: {table.meaning.split(':')[0]}",
    )


def _merged(places: dict[str, list[tuple[int, Name]]], sheet: Sheet, problems: Problems) -> None:
    """Merged cells in known columns: all but one of them read as empty, which would change what they say."""
    known = {i for found in places.values() for i, _ in found}
    hit = [area for area in sheet.merged if known & set(range(area.first_column, area.last_column + 1))]
    if hit:
        sheet.sound = False
        problems.add(
            "merged_cells",
            sheet.file,
            hit[0].first_row,
            "",
            listed([area.ref for area in hit]),
            "merged cells hold one value for several rows or columns",
            "unmerge them and fill in every cell",
        )


def _places(table: Table, sheet: Sheet, problems: Problems) -> dict[str, list[tuple[int, Name]]]:
    """Where each field stands in the sheet, by field."""
    places: dict[str, list[tuple[int, Name]]] = {}
    unknown: list[str] = []
    seen: set[str] = set()
    for i, header in enumerate(sheet.headers):
        if header in seen:
            problems.add(
                "doubled_column",
                sheet.file,
                1,
                header,
                header,
                "two columns have this header",
                "rename or remove one of them",
            )
        elif header in table.by_header:
            column, name = table.by_header[header]
            places.setdefault(column.field, []).append((i, name))
        elif header:
            unknown.append(header)
        seen |= {header} - {""}
    _missing_columns(table, sheet, places, unknown, problems)
    if unknown:
        stems = {_stem(header) for header in table.by_header if "_" in header}
        hints = [
            f"{word}: {hint}"
            for word in unknown
            if _stem(word) not in stems and (hint := nearest(word, list(table.by_header)))
        ]
        problems.warn(
            "unknown_column",
            sheet.file,
            1,
            unknown[0],
            listed(unknown),
            "unknown columns are ignored",
            " ".join(hints) or "ignore this if they are your own notes",
        )
    return places


def _missing_columns(
    table: Table,
    sheet: Sheet,
    places: dict[str, list[tuple[int, Name]]],
    unknown: list[str],
    problems: Problems,
) -> None:
    for column in table.columns:
        if column.required and column.field not in places:
            hint = next((word for word in unknown if nearest(word, column.headers)), "")
            other_unit = hint and any(_stem(hint) == _stem(header) for header in column.headers)
            problems.add(
                "missing_column",
                sheet.file,
                1,
                column.label,
                hint,
                f"the column {' or '.join(column.headers)} is missing",
                f"convert {hint} to the unit of one of them, and rename it"
                if other_unit
                else (f"rename {hint}" if hint else f"add it: {column.meaning}"),
            )


def _stem(header: str) -> str:
    """A header without the unit at its end."""
    return header.rpartition("_")[0] or header


class _RowReader:
    """Reads rows of one sheet; equal cells of a column are parsed once."""

    def __init__(self, sheet: Sheet, places: dict[str, list[tuple[int, Name]]], problems: Problems) -> None:
        self.sheet, self.places, self.problems = sheet, places, problems
        self.known: dict[int, dict[str, _Parsed]] = {i: {} for p in places.values() for i, _ in p}
        self.width = len(sheet.headers)

    def record(
        self,
        row: int,
        cells: list[str],
        columns: list[tuple[Column, list[tuple[int, Name]]]],
        absent: dict[str, Any],
    ) -> Record:
        if len(cells) < self.width:
            cells = cells + [""] * (self.width - len(cells))
        elif any(cells[self.width :]):
            self._long(row, cells)
        record = Record(self.sheet, self.places, row, cells, dict(absent))
        for column, places in columns:
            found = [(i, name) for i, name in places if cells[i]] if len(places) > 1 else places
            if len(found) == 1 and cells[found[0][0]]:
                self._one(record, column, *found[0])
            elif len(found) > 1:
                self._several(record, column, found)
            elif column.required:
                self._missing(record, column, places[0][1])
            elif column.default is not None:
                record.values[column.field] = column.default
        return record

    def _parsed(self, column: Column, i: int, name: Name, text: str) -> _Parsed:
        memory = self.known[i]
        if text not in memory:
            try:
                memory[text] = (parse(column, name.unit, text, self.sheet.spelling), None)
            except Bad as bad:
                memory[text] = (None, bad)
        return memory[text]

    def _one(self, record: Record, column: Column, i: int, name: Name) -> None:
        text = record.cells[i]
        value, bad = self._parsed(column, i, name, text)
        if bad is None:
            record.values[column.field] = value
            return
        record.whole = False
        self.problems.add(bad.code, self.sheet.file, record.row, name.header, text, bad.wrong, bad.remedy)

    def _several(self, record: Record, column: Column, found: list[tuple[int, Name]]) -> None:
        for i, name in found:
            before = record.values.get(column.field)
            self._one(record, column, i, name)
            now = record.values.get(column.field)
            if (
                isinstance(before, float)
                and isinstance(now, float)
                and abs(before - now) > 0.01 * abs(before)
            ):
                record.whole = False
                self.problems.add(
                    "two_units",
                    self.sheet.file,
                    record.row,
                    name.header,
                    record.cells[i],
                    f"{' and '.join(n.header for _, n in found)} disagree",
                    "fill in one of them",
                )

    def _missing(self, record: Record, column: Column, name: Name) -> None:
        record.whole = False
        self.problems.add(
            "missing_value",
            self.sheet.file,
            record.row,
            name.header,
            "",
            "the cell is empty",
            f"fill in: {column.meaning}",
        )

    def _long(self, row: int, cells: list[str]) -> None:
        self.problems.add(
            "long_row",
            self.sheet.file,
            row,
            "",
            listed(cells[self.width :]),
            f"the row has more cells than the {self.width} headers",
            "put a cell with a comma in it in quotation marks",
        )
