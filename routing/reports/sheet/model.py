"""The one structure of a run sheet, which the HTML and the PDF sheet both print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from routing.reports.sheet.sketch import Ground
from routing.reports.words.route_day import Fact

BlockKind = Literal[
    "day", "changes", "goon", "loadout", "yard", "refill", "wash", "break", "end", "unserved", "annex",
    "totals",
]  # fmt: skip


@dataclass(frozen=True)
class Table:
    """Rows of text. ``right`` and ``strong`` name the columns (counted from 0) of numbers and in bold."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    total: tuple[str, ...] = ()
    shares: tuple[float, ...] = ()
    strong: tuple[int, ...] = ()


@dataclass(frozen=True)
class Where:
    """A place to drive to, ready to read, to type and to scan."""

    decimal: str
    dms: str
    geo: str


@dataclass(frozen=True)
class Blank:
    """A line to write on. ``share`` of the width of the sheet it takes; ``unit`` stands behind it."""

    label: str
    share: float
    unit: str = ""


@dataclass(frozen=True)
class Block:
    """One box of the sheet, never split across pages unless it ``flows``.

    ``mark`` is the big number, ``badge`` a word framed under it. Empty parts are not printed. ``checks`` and
    ``skip`` get a box to tick.
    """

    kind: BlockKind
    mark: str
    title: str
    subtitle: str = ""
    badge: str = ""
    times: tuple[Fact, ...] = ()
    flag: str = ""
    facts: tuple[Fact, ...] = ()
    where: Where | None = None
    table: Table | None = None
    after: tuple[Fact, ...] = ()
    checks: tuple[str, ...] = ()
    blanks: tuple[Blank, ...] = ()
    skip: tuple[str, ...] = ()
    emergency: str = ""
    flows: bool = False


@dataclass(frozen=True)
class DayRow:
    """One stop of the table. ``amounts`` by syrup, ``left`` by tank, both in the order of the heads.

    ``early``: something that comes before the end of the shift bounds the latest arrival. ``strong``:
    starving or in quarantine.
    """

    kind: str
    mark: str
    name: str
    arrive: str
    latest: str
    amounts: tuple[str, ...]
    pails: str
    mind: str
    left: tuple[str, ...]
    weight: str
    early: bool = False
    strong: bool = False


@dataclass(frozen=True)
class DayPage:
    """All that page 1 shows. ``figures`` are (value, word)."""

    letter: str
    title: str
    date_text: str
    figures: tuple[tuple[str, str], ...]
    syrups: tuple[str, ...]
    tanks: tuple[str, ...]
    units: tuple[str, str]
    rows: tuple[DayRow, ...]
    legend: str
    cautions: tuple[str, ...]
    ground: Ground


@dataclass(frozen=True)
class SheetContent:
    """All that is printed for one truck. ``running_head`` stands on every page."""

    truck_id: str
    operation: str
    plan_id: str
    date_text: str
    running_head: str
    intro: str
    blocks: tuple[Block, ...]
    day: DayPage | None = None
