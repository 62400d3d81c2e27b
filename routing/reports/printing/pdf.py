"""Print a run sheet as PDF: boxes packed onto pages, none split, every page named and counted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from routing.reports.printing.pdf_blanks import blank_rows, check_rows, skip_row
from routing.reports.printing.pdf_canvas import PAPER_MM, Canvas
from routing.reports.printing.pdf_day import day_rows
from routing.reports.printing.pdf_rows import (
    BIG_PT,
    BODY_PT,
    LABEL_MM,
    PAD,
    Row,
    emergency_row,
    fact_row,
    facts_row,
    flag_row,
    flowing_rows,
    head_row,
    line_mm,
    table_rows,
    text_row,
)
from routing.reports.sheet.model import Block, SheetContent

MARGIN = 10.0
HEAD_MM = 8.0
GAP = 2.0
CHANGES_LABEL_MM = 44.0


@dataclass(frozen=True)
class Placed:
    """A box, or the part of a flowing box, that stands on one page."""

    rows: tuple[Row, ...]
    block: Block
    top: float

    @property
    def height(self) -> float:
        """Height of the frame."""
        return sum(row.height for row in self.rows) + PAD / 2


def sheet_pdf(content: SheetContent, day: date, *, paper: str = "letter") -> bytes:
    """The sheet of one truck on ``letter`` or ``a4`` paper. Raises ValueError for another paper."""
    if paper not in PAPER_MM:
        raise ValueError(f"paper is {' or '.join(PAPER_MM)}, not {paper}")
    canvas = Canvas(paper, f"Run sheet {content.running_head}", day)
    pages = paginate(canvas, content)
    for number, page in enumerate(pages, start=1):
        canvas.add_page()
        _page_head(canvas, content, number, len(pages))
        if number == 1:
            _intro(canvas, content).draw(canvas, MARGIN - PAD, MARGIN + head_mm(canvas, content))
        for placed in page:
            _draw(canvas, placed)
    return canvas.output()


def paginate(canvas: Canvas, content: SheetContent) -> list[list[Placed]]:
    """Which box stands where on which page."""
    width, bottom = canvas.width_mm - 2 * MARGIN, canvas.height_mm - MARGIN
    first = MARGIN + head_mm(canvas, content)
    pages: list[list[Placed]] = [[]]
    y = first + _intro(canvas, content).height + GAP
    for block in _in_order(content):
        if block.kind == "day":
            assert content.day is not None
            rows = day_rows(canvas, content.day, width, bottom - y)
            if pages[-1] and sum(row.height for row in rows) > bottom - y:
                pages.append([])
                y = first
                rows = day_rows(canvas, content.day, width, bottom - y)
        else:
            rows = block_rows(canvas, block, width)
        height = sum(row.height for row in rows) + PAD / 2
        room = bottom - y
        # A box that fits a page is never split. One that does not (a list of 200 yards) flows on, but
        # not with its heading alone at the foot of a page.
        begins = sum(row.height for row in rows[:3]) + PAD / 2
        if pages[-1] and height > room and (height <= bottom - first or begins > room):
            pages.append([])
            y = first
        for part in _parts(canvas, block, rows, bottom - y, bottom - first, width):
            if part is not None:
                placed = Placed(part, block, y)
                pages[-1].append(placed)
                y += placed.height + GAP
            else:
                pages.append([])
                y = first
        if block.kind == "day":
            # Page 1 is the day; the cards begin on the next.
            y = bottom
    return pages


def _in_order(content: SheetContent) -> list[Block]:
    """What changed and where to go on from, then the day, then the boxes."""
    if content.day is None:
        return list(content.blocks)
    now = [block for block in content.blocks if block.kind in ("changes", "goon")]
    day = Block("day", content.day.letter, content.day.title, flows=True)
    return [*now, day, *(block for block in content.blocks if block not in now)]


def _parts(
    canvas: Canvas, block: Block, rows: list[Row], room: float, page: float, width: float
) -> list[tuple[Row, ...] | None]:
    """The rows of a box by page; ``None`` stands for a new page."""
    parts: list[tuple[Row, ...] | None] = []
    part: list[Row] = []
    used = PAD / 2
    for row in rows:
        if used + row.height > room and part:
            parts += [tuple(part), None]
            again = text_row(canvas, f"{block.mark} {block.title[:60]} (continued)", width, bold=True)
            part, used, room = [again], PAD / 2 + again.height, page
        part.append(row)
        used += row.height
    return [*parts, tuple(part)]


def block_rows(canvas: Canvas, block: Block, width: float) -> list[Row]:
    """All the rows of a box in the order they are printed."""
    rows = [head_row(canvas, block, width)]
    if block.flag:
        rows.append(flag_row(canvas, block.flag, width))
    if block.flows:
        look = (CHANGES_LABEL_MM, BIG_PT) if block.kind == "changes" else (LABEL_MM, BODY_PT)
        rows += [row for fact in block.facts for row in flowing_rows(canvas, fact, width, *look)]
    elif block.facts or block.where:
        rows.append(facts_row(canvas, block.facts, block.where, width))
    if block.table:
        rows += table_rows(canvas, block.table, width)
    rows += [fact_row(canvas, fact, width) for fact in block.after]
    rows += check_rows(canvas, block.checks, width)
    rows += blank_rows(canvas, block.blanks, width)
    if block.skip:
        rows.append(skip_row(canvas, block.skip, width))
    if block.emergency:
        rows.append(emergency_row(canvas, block.emergency, width))
    return rows


def _draw(canvas: Canvas, placed: Placed) -> None:
    width = canvas.width_mm - 2 * MARGIN
    if placed.block.kind != "day":
        canvas.box(MARGIN, placed.top, width, placed.height, 0.7)
    y = placed.top
    for row in placed.rows:
        row.draw(canvas, MARGIN, y)
        y += row.height


def head_mm(canvas: Canvas, content: SheetContent) -> float:
    """Height of the head of every page; a long name or id makes it two lines, and is never cut off."""
    return HEAD_MM + (len(_head_lines(canvas, content)) - 1) * line_mm(BODY_PT)


def _head_lines(canvas: Canvas, content: SheetContent) -> list[str]:
    page_mm = canvas.text_mm("page 888 of 888", BODY_PT, True)
    return canvas.wrap(content.running_head, canvas.width_mm - 2 * MARGIN - page_mm - 4, BODY_PT, True)


def _page_head(canvas: Canvas, content: SheetContent, number: int, count: int) -> None:
    """Truck, date, plan and page, so that two sheets are never mixed."""
    right = f"page {number} of {count}"
    right_mm = canvas.text_mm(right, BODY_PT, True)
    lines = _head_lines(canvas, content)
    for i, line in enumerate(lines):
        canvas.text(MARGIN, MARGIN + i * line_mm(BODY_PT), line, BODY_PT, True)
    canvas.text(canvas.width_mm - MARGIN - right_mm, MARGIN, right, BODY_PT, True)
    y = MARGIN + len(lines) * line_mm(BODY_PT) + 0.6
    canvas.rule(MARGIN, y, canvas.width_mm - MARGIN, y, 0.5)


def _intro(canvas: Canvas, content: SheetContent) -> Row:
    if not content.intro:
        return Row(0.0, lambda c, x, y: None)
    return text_row(canvas, content.intro, canvas.width_mm - 2 * MARGIN + 2 * PAD)
