"""Print tables in a terminal of any width: nothing is cut; what is needed least is left out first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from routing.reports.terminal.text import bullet, text

GAP, MARGIN = 2, 1
Cells = Sequence[str | Text]


@dataclass(frozen=True)
class Column:
    """One column. ``drop``: where room is short, columns go in this order (0: never).

    ``wraps``: it takes what room is left, at least ``least`` letters. ``below``: with less room than so many
    letters its text stands under the row instead.
    """

    title: str
    right: bool = False
    wraps: bool = False
    least: int = 14
    drop: int = 0
    below: int = 0


@dataclass(frozen=True)
class Layout:
    """Which columns stand in the table, how wide each is, and which stand under the row."""

    shown: tuple[int, ...]
    widths: tuple[int, ...]
    under: tuple[int, ...]


def table(
    console: Console,
    columns: Sequence[Column],
    rows: Iterable[Cells],
    notes: Sequence[Sequence[Text]] = (),
) -> None:
    """A table in the width of the console; ``notes`` are lines to print under each row."""
    cells = [[cell if isinstance(cell, Text) else text(cell) for cell in row] for row in rows]
    notes = notes or [()] * len(cells)
    layout = lay_out(columns, cells, console.width)
    if layout is None:
        for row, more in zip(cells, notes, strict=True):
            _card(console, columns, row, more)
        return
    _row(console, columns, layout, [text(column.title, "bold") for column in columns])
    wide = sum(layout.widths) + GAP * (len(layout.widths) - 1)
    console.print(Text(" " * MARGIN + _rule(console) * wide))
    indent = MARGIN + (layout.widths[0] + GAP if layout.widths[0] <= 8 else GAP)
    for row, more in zip(cells, notes, strict=True):
        _row(console, columns, layout, row)
        for line in (*(row[i] for i in layout.under if row[i].plain), *more):
            _under(console, line, indent)


def lay_out(columns: Sequence[Column], rows: Sequence[Sequence[Text]], width: int) -> Layout | None:
    """The columns that fit a width, as few as can be left out; None where not even the needed ones do."""
    natural = [max([len(c.title), *(row[i].cell_len for row in rows)]) for i, c in enumerate(columns)]
    shown, under = list(range(len(columns))), []
    while True:
        left = width - MARGIN - GAP * (len(shown) - 1)
        left -= sum(natural[i] for i in shown if not columns[i].wraps)
        wrapping = [i for i in shown if columns[i].wraps]
        least = {i: min(natural[i], columns[i].least) for i in wrapping}
        spare = left - sum(least.values())
        crowded = [
            i for i in wrapping if natural[i] > least[i] + spare and columns[i].below > least[i] + spare
        ]
        if crowded:
            shown.remove(crowded[0])
            under.append(crowded[0])
        elif spare >= 0:
            break
        else:
            droppable = sorted((columns[i].drop, i) for i in shown if columns[i].drop)
            if not droppable:
                return None
            shown.remove(droppable[0][1])
    given = _shared({i: natural[i] for i in wrapping}, least, left)
    return Layout(tuple(shown), tuple(given.get(i, natural[i]) for i in shown), tuple(under))


def _shared(natural: dict[int, int], least: dict[int, int], left: int) -> dict[int, int]:
    """Room for the columns that wrap: what each would take, or in proportion to what it lacks."""
    lacking = {i: natural[i] - least[i] for i in natural}
    spare, asked = left - sum(least.values()), sum(lacking.values())
    if asked <= spare:
        return natural
    return {i: least[i] + spare * lacking[i] // asked for i in natural}


def _row(console: Console, columns: Sequence[Column], layout: Layout, row: Sequence[Text]) -> None:
    grid = Table.grid(padding=(0, GAP, 0, 0))
    for i, width in zip(layout.shown, layout.widths, strict=True):
        grid.add_column(width=width, justify="right" if columns[i].right else "left", overflow="fold")
    grid.add_row(*(row[i] for i in layout.shown))
    console.print(Padding(grid, (0, 0, 0, MARGIN), expand=False))


def _card(console: Console, columns: Sequence[Column], row: Sequence[Text], notes: Sequence[Text]) -> None:
    """A row where no table fits: the text first, then each figure behind its name."""
    line = Text()
    for column, cell in zip(columns, row, strict=True):
        if cell.plain:
            name = (
                f"{column.title} " if column.title and not column.wraps and column is not columns[0] else ""
            )
            line.append(", " if line.plain else "")
            line.append(name)
            line.append_text(cell)
    bullet(console, line)
    for note in notes:
        _under(console, note, MARGIN + GAP)


def _under(console: Console, line: Text, indent: int) -> None:
    line.overflow = "fold"
    console.print(Padding(line, (0, 0, 0, indent), expand=False))


def _rule(console: Console) -> str:
    return "─" if (console.encoding or "").lower().startswith("utf") else "-"
