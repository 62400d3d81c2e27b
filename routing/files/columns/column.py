"""Describe one column or key as data: its names, type, limits, default and meaning."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Any, Literal

from routing.domain.places import Foulbrood, Frame, Health, Priority
from routing.domain.supplies import FeederPosition, Risk, SyrupKind
from routing.files.columns.unit_family import PERCENT, PLAIN, Name, Unit, plain

Kind = Literal[
    "text", "id", "ids", "yes_no", "choice", "risk", "number", "whole", "date", "dates", "time", "windows"
]

ENUMS: dict[str, type[StrEnum]] = {
    "health": Health,
    "priority": Priority,
    "foulbrood": Foulbrood,
    "frame": Frame,
    "position": FeederPosition,
    "kind": SyrupKind,
}


@dataclass(frozen=True)
class Column:
    """One column of a table, or one key of operation.toml.

    ``field`` is the domain field it fills; ``names`` the headers it may stand under, each with its
    unit. ``low`` and ``high`` bound what is believed, in SI; what lies outside is absurd. ``default``
    is in SI; ``default_text`` says it in words where a rule stands in its place. ``refers`` names the
    table that must hold the id. ``ratio`` tells a share of 1 from a percentage, to catch mix-ups.
    ``whole_si`` rounds the SI value (seconds). ``low_code`` names the problem of a value under ``low``.
    """

    field: str
    names: tuple[Name, ...]
    kind: Kind
    meaning: str
    required: bool = False
    default: Any = None
    default_text: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    refers: str = ""
    ratio: Literal["", "fraction", "percent"] = ""
    whole_si: bool = False
    low_code: str = "absurd"

    @cached_property
    def headers(self) -> tuple[str, ...]:
        """The headers it may stand under."""
        return tuple(name.header for name in self.names)

    @property
    def label(self) -> str:
        """The headers as shown in messages: ``tare_lb|tare_kg``."""
        return "|".join(self.headers)

    @cached_property
    def make(self) -> Callable[[str], Any]:
        """Turn an allowed choice into its domain value."""
        if self.kind == "risk":
            return Risk
        enum = ENUMS.get(self.field) if self.kind == "choice" else None
        # Another table may have a field of the same name with choices of its own.
        return enum if enum and set(self.choices) <= {item.value for item in enum} else str


@dataclass(frozen=True)
class Table:
    """One file of the operation folder, or one sheet of the workbook."""

    name: str
    meaning: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    may_be_empty: bool = False

    @property
    def file(self) -> str:
        """The name of its CSV file."""
        return f"{self.name}.csv"

    @cached_property
    def by_header(self) -> dict[str, tuple[Column, Name]]:
        """Column and unit by header."""
        return {name.header: (column, name) for column in self.columns for name in column.names}

    def column(self, field: str) -> Column:
        """The column that fills a domain field. Raises KeyError when there is none."""
        for column in self.columns:
            if column.field == field:
                return column
        raise KeyError(field)


def text(field: str, meaning: str, **more: Any) -> Column:
    """Free text."""
    return Column(field, plain(field), "text", meaning, default="", **more)


def ident(field: str, meaning: str, refers: str = "", required: bool = True, **more: Any) -> Column:
    """An id: of this row, or of a row elsewhere (``refers``)."""
    return Column(field, plain(field), "id", meaning, required=required, refers=refers, **more)


def number(
    field: str,
    names: str | tuple[Name, ...],
    meaning: str,
    low: float,
    high: float,
    *,
    unit: Unit = PLAIN,
    **more: Any,
) -> Column:
    """A number believed only from ``low`` to ``high`` (SI, both included)."""
    named = plain(names, unit) if isinstance(names, str) else names
    return Column(field, named, "number", meaning, low=low, high=high, **more)


def whole(field: str, header: str, meaning: str, low: float, high: float, **more: Any) -> Column:
    """A count."""
    return Column(field, plain(header), "whole", meaning, low=low, high=high, **more)


def fraction(field: str, meaning: str, low: float, high: float, **more: Any) -> Column:
    """A share of 1."""
    return Column(field, plain(field), "number", meaning, low=low, high=high, ratio="fraction", **more)


def percent(field: str, header: str, meaning: str, low: float, high: float, **more: Any) -> Column:
    """A percentage outside, a share of 1 inside."""
    return Column(
        field, plain(header, PERCENT), "number", meaning, low=low, high=high, ratio="percent", **more
    )


def yes_no(field: str, meaning: str, **more: Any) -> Column:
    """Yes or no."""
    return Column(field, more.pop("names", plain(field)), "yes_no", meaning, **more)


def choice(field: str, choices: tuple[str, ...], meaning: str, **more: Any) -> Column:
    """One of a few words."""
    return Column(field, plain(field), "choice", meaning, choices=choices, **more)
