"""Turn the parts of a sheet box into rows that know their height before they are drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from routing.reports.printing.pdf_canvas import LINE, PT_MM, Canvas
from routing.reports.sheet.model import Block, Table, Where
from routing.reports.words.route_day import Fact
from routing.reports.words.text import cost

BODY_PT = 9.5
CALL_PT = 9.0
FLAG_PT = 10.5
BIG_PT = 12.0
TITLE_PT = 13.0
TIME_PT = 13.0
LONG_TITLE = 90
LONG_FACT_MM = 60.0
MARK_PT = 24.0
PAD = 1.6
QR_MM = 18.0
LABEL_MM = 25.0
TIMES_MM = 44.0
MARK_MM = 20.0

Draw = Callable[[Canvas, float, float], None]
"""Draw at x (left edge) and y (upper edge)."""


@dataclass(frozen=True)
class Row:
    """One strip of a box across its whole width."""

    height: float
    draw: Draw


def line_mm(size: float) -> float:
    """Height of a line of text."""
    return size * PT_MM * LINE


def text_row(canvas: Canvas, text: str, width: float, size: float = BODY_PT, bold: bool = False) -> Row:
    """A paragraph."""
    lines = canvas.wrap(text, width - 2 * PAD, size, bold)

    def draw(c: Canvas, x: float, y: float) -> None:
        for i, line in enumerate(lines):
            c.text(x + PAD, y + i * line_mm(size), line, size, bold)

    return Row(len(lines) * line_mm(size), draw)


def head_row(canvas: Canvas, block: Block, width: float) -> Row:
    """The big number, the name, and the times to keep."""
    mark_size = MARK_PT
    while canvas.text_mm(block.mark, mark_size, True) > MARK_MM - 2 * PAD and mark_size > BODY_PT:
        mark_size -= 1
    times_mm = TIMES_MM if block.times else 0.0
    middle = width - MARK_MM - times_mm
    size = TITLE_PT if cost(block.title) <= LONG_TITLE else BIG_PT
    title = canvas.wrap(block.title, middle - 2 * PAD, size, True)
    sub = canvas.wrap(block.subtitle, middle - 2 * PAD, BODY_PT) if block.subtitle else []
    text_h = len(title) * line_mm(size) + len(sub) * line_mm(BODY_PT)
    badge_h = line_mm(BIG_PT) + PAD if block.badge else 0.0
    mark_h = line_mm(mark_size) + badge_h
    height = max(text_h, len(block.times) * line_mm(TIME_PT), mark_h) + PAD

    def draw(c: Canvas, x: float, y: float) -> None:
        left = x + (MARK_MM - c.text_mm(block.mark, mark_size, True)) / 2
        top = y + (height - mark_h) / 2
        c.text(left, top, block.mark, mark_size, True)
        if block.badge:
            _draw_badge(c, block.badge, x, top + line_mm(mark_size))
        c.rule(x + MARK_MM, y, x + MARK_MM, y + height, 0.5)
        top = y + PAD / 2
        for line in title:
            c.text(x + MARK_MM + PAD, top, line, size, True)
            top += line_mm(size)
        for line in sub:
            c.text(x + MARK_MM + PAD, top, line, BODY_PT)
            top += line_mm(BODY_PT)
        _draw_times(c, block.times, x + width - times_mm, y + PAD / 2)
        c.rule(x, y + height, x + width, y + height, 0.5)

    return Row(height + 0.4, draw)


def _draw_badge(c: Canvas, badge: str, x: float, y: float) -> None:
    """A framed word under the big number."""
    wide = c.text_mm(badge, BIG_PT, True)
    left = x + (MARK_MM - wide) / 2
    c.box(left - PAD, y, wide + 2 * PAD, line_mm(BIG_PT), 0.8)
    c.text(left, y + 0.2, badge, BIG_PT, True)


def _draw_times(c: Canvas, times: Sequence[Fact], x: float, y: float) -> None:
    for i, fact in enumerate(times):
        top = y + i * line_mm(TIME_PT)
        c.text(x, top + 0.9, fact.label, BODY_PT)
        value_mm = c.text_mm(fact.text, TIME_PT, True)
        c.text(x + TIMES_MM - PAD - value_mm, top, fact.text, TIME_PT, True)


def flag_row(canvas: Canvas, text: str, width: float) -> Row:
    """A disease flag: words in a double frame, so that it does not hang on colour."""
    lines = canvas.wrap(text, width - 6 * PAD, FLAG_PT, True)
    height = len(lines) * line_mm(FLAG_PT) + 2 * PAD

    def draw(c: Canvas, x: float, y: float) -> None:
        c.box(x + PAD, y + PAD / 2, width - 2 * PAD, height, 0.9)
        c.box(x + PAD + 1, y + PAD / 2 + 1, width - 2 * PAD - 2, height - 2, 0.25)
        for i, line in enumerate(lines):
            c.text(x + 3 * PAD, y + 1.5 * PAD + i * line_mm(FLAG_PT), line, FLAG_PT, True)

    return Row(height + PAD, draw)


def fact_row(
    canvas: Canvas, fact: Fact, width: float, label_mm: float = LABEL_MM, size: float = BODY_PT
) -> Row:
    """A label and its text beside it; a long label stands on lines of its own."""
    label = canvas.drawable(fact.label)
    own_line = canvas.text_mm(label, size, fact.strong) > label_mm - PAD
    labels = canvas.wrap(label, width - 2 * PAD, size, True) if own_line else [label]
    lines = canvas.wrap(fact.text, width - label_mm - 2 * PAD, size, fact.strong)
    start = len(labels) * line_mm(size) if own_line else 0.0

    def draw(c: Canvas, x: float, y: float) -> None:
        for i, line in enumerate(labels):
            c.text(x + PAD, y + i * line_mm(size), line, size, fact.strong)
        for i, line in enumerate(lines):
            c.text(x + PAD + label_mm, y + start + i * line_mm(size), line, size, fact.strong)

    return Row(start + len(lines) * line_mm(size), draw)


def flowing_rows(
    canvas: Canvas, fact: Fact, width: float, label_mm: float = LABEL_MM, size: float = BODY_PT
) -> list[Row]:
    """A fact of a list that may run over pages: whole where it is short, else line by line."""
    row = fact_row(canvas, fact, width, label_mm, size)
    if row.height <= LONG_FACT_MM:
        return [row]
    lines = canvas.wrap(fact.text, width - 2 * PAD, size, fact.strong)
    label = text_row(canvas, fact.label, width, size, bold=True)
    return [label, *(text_row(canvas, line, width, size, bold=fact.strong) for line in lines)]


def facts_row(canvas: Canvas, facts: Sequence[Fact], where: Where | None, width: float) -> Row:
    """Facts on the left, the code to scan on the right."""
    side = QR_MM + PAD if where else 0.0
    shown = list(facts)
    if where:
        shown.append(Fact("Place", f"{where.decimal} = {where.dms}"))
    rows = [fact_row(canvas, fact, width - side) for fact in shown]
    height = max(sum(row.height for row in rows), side)

    def draw(c: Canvas, x: float, y: float) -> None:
        top = y
        for row in rows:
            row.draw(c, x, top)
            top += row.height
        if where:
            c.qr(x + width - QR_MM - PAD / 2, y, QR_MM, where.geo)
            c.link(x + width - QR_MM - PAD / 2, y, QR_MM, QR_MM, where.geo)
            c.link(x, top - rows[-1].height, width - side, rows[-1].height, where.geo)

    return Row(height + PAD / 2, draw)


def table_rows(canvas: Canvas, table: Table, width: float) -> list[Row]:
    """Head, body and total of a table, ruled."""
    edges = _edges(table, width)
    every = range(len(table.head))
    rows = [_cells(canvas, table.head, table.right, edges, BODY_PT, every, fill=True)]
    rows += [_cells(canvas, row, table.right, edges, BODY_PT, table.strong) for row in table.rows]
    if table.total:
        rows.append(_cells(canvas, table.total, table.right, edges, BODY_PT, every))
    return [*rows, Row(PAD / 2, lambda c, x, y: None)]


def _edges(table: Table, width: float) -> list[tuple[float, float]]:
    inner = width - 2 * PAD
    shares = table.shares or (1 / len(table.head),) * len(table.head)
    edges, left = [], PAD
    for share in shares:
        edges.append((left, share * inner))
        left += share * inner
    return edges


def _cells(
    canvas: Canvas, cells: Sequence[str], right: Sequence[int], edges: list[tuple[float, float]],
    size: float, bold: Sequence[int], fill: bool = False,
) -> Row:  # fmt: skip
    wrapped = [
        canvas.wrap(text, span - 1.6, size, k in bold)
        for k, (text, (_, span)) in enumerate(zip(cells, edges, strict=True))
    ]
    height = max(len(lines) for lines in wrapped) * line_mm(size) + 0.8

    def draw(c: Canvas, x: float, y: float) -> None:
        for k, (lines, (left, span)) in enumerate(zip(wrapped, edges, strict=True)):
            c.box(x + left, y, span, height, 0.2, fill)
            for i, line in enumerate(lines):
                shift = span - 0.8 - c.text_mm(line, size, k in bold) if k in right else 0.8
                c.text(x + left + shift, y + 0.4 + i * line_mm(size), line, size, k in bold)

    return Row(height, draw)


def emergency_row(canvas: Canvas, text: str, width: float) -> Row:
    """Whom to call and what to say, under a heavy rule."""
    lines = canvas.wrap(text, width - 2 * PAD, CALL_PT, True)

    def draw(c: Canvas, x: float, y: float) -> None:
        c.rule(x, y, x + width, y, 0.5)
        for i, line in enumerate(lines):
            c.text(x + PAD, y + 0.6 + i * line_mm(CALL_PT), line, CALL_PT, True)

    return Row(len(lines) * line_mm(CALL_PT) + 1.0, draw)
