"""Hold the rows of a table as values by domain field, with what was typed for messages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from routing.files.columns.column import Table
from routing.files.columns.unit_family import Name
from routing.files.problems.problems import Problems
from routing.files.tables.tables import Sheet


@dataclass(slots=True)
class Record:
    """One row: values by domain field (absent: empty or bad), and what was typed."""

    sheet: Sheet
    places: dict[str, list[tuple[int, Name]]]
    row: int
    cells: list[str]
    values: dict[str, Any]
    whole: bool = True

    def get(self, field_: str) -> Any:
        """The value of a field, None when it was empty without a default, or bad."""
        return self.values.get(field_)

    def typed(self, field_: str) -> tuple[str, str]:
        """The header and the text of a field, for messages."""
        found = [(name.header, self.cells[i]) for i, name in self.places.get(field_, ())]
        return next((pair for pair in found if pair[1]), found[0] if found else (field_, ""))


@dataclass
class Records:
    """All rows of one table. ``sound`` False: some may be missing, so ids cannot be judged against it."""

    table: Table
    file: str
    rows: list[Record] = field(default_factory=list)
    sound: bool = True

    def __iter__(self) -> Iterator[Record]:
        return iter(self.rows)

    def ids(self) -> dict[str, Record]:
        """Rows by their id (tables with one key column), the first of doubled ones."""
        found: dict[str, Record] = {}
        for record in self.rows:
            found.setdefault(record.get(self.table.key[0]), record)
        return found

    def complain(
        self,
        problems: Problems,
        code: str,
        record: Record,
        field_: str,
        wrong: str,
        remedy: str,
        severity: str = "error",
    ) -> None:
        """Note a problem at one field of one row; of a row with an error nothing is built."""
        record.whole = record.whole and severity != "error"
        header, text = record.typed(field_)
        problems.add(code, self.file, record.row, header, text, wrong, remedy, severity=severity)
