"""Tables for Python: nested lists, and objects with the fields of records."""

from __future__ import annotations

from functools import cache
from typing import Any, TypeVar, cast

from numpy.typing import NDArray

Tuple = TypeVar("Tuple", bound=tuple[Any, ...])


def as_lists(tables: Tuple, lazy: frozenset[str] = frozenset()) -> Tuple:
    """Return the same tables for Python: nested lists of numbers and of objects with the records' fields.

    Of tables named ``lazy`` each row is made when it is first asked for: few rows of the largest are.
    """
    kind: Any = type(tables)
    made = (
        [_Rows(part) for part in table] if name in lazy else _listed(table)
        for name, table in zip(kind._fields, tables, strict=True)
    )
    return cast(Tuple, kind._make(made))


def _listed(table: NDArray[Any]) -> list[Any]:
    if table.ndim > 1:
        return [_listed(row) for row in table]
    if table.dtype.names is None:
        return list(table.tolist())
    make = _object(table.dtype.names)
    return [make(*row) for row in table.tolist()]


class _Rows:
    """Rows of a table, made one by one."""

    def __init__(self, table: NDArray[Any]) -> None:
        self.table = table
        self.made: dict[int, list[Any]] = {}

    def __getitem__(self, row: int) -> list[Any]:
        if row not in self.made:
            self.made[row] = _listed(self.table[row])
        return self.made[row]


@cache
def _object(names: tuple[str, ...]) -> type:
    """A class with these fields and no others."""

    def fill(self: Any, *values: float) -> None:
        for name, value in zip(names, values, strict=True):
            setattr(self, name, value)

    return type("Record", (), {"__slots__": names, "__init__": fill})
