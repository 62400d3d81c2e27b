"""The parts of a sheet box that are filled in by hand: boxes to tick, lines to write on."""

from __future__ import annotations

from collections.abc import Sequence

from routing.reports.printing.pdf_canvas import Canvas
from routing.reports.printing.pdf_rows import BODY_PT, PAD, Row, line_mm
from routing.reports.sheet.model import Blank

TICK_MM = 3.4
SKIP_PT = 9.0
BLANK_MM = 7.6


def check_rows(canvas: Canvas, checks: Sequence[str], width: float) -> list[Row]:
    """Boxes to tick, two to a line."""
    half = width / 2
    rows = []
    for i in range(0, len(checks), 2):
        pair = checks[i : i + 2]
        wrapped = [canvas.wrap(text, half - TICK_MM - 3 * PAD, SKIP_PT) for text in pair]
        height = max(max(len(lines) for lines in wrapped) * line_mm(SKIP_PT), TICK_MM) + 0.5

        def draw(c: Canvas, x: float, y: float, wrapped: list[list[str]] = wrapped) -> None:
            for k, lines in enumerate(wrapped):
                left = x + PAD + k * half
                c.box(left, y + 0.4, TICK_MM, TICK_MM, 0.35)
                for n, line in enumerate(lines):
                    c.text(left + TICK_MM + PAD, y + n * line_mm(SKIP_PT), line, SKIP_PT)

        rows.append(Row(height, draw))
    return rows


def skip_row(canvas: Canvas, reasons: Sequence[str], width: float) -> Row:
    """The box for a yard that was skipped, with the reason to tick."""
    placed: list[tuple[float, float, str]] = []
    label = "SKIPPED:"
    left, top = PAD + TICK_MM + PAD + canvas.text_mm(label, SKIP_PT, True) + 2 * PAD, 0.0
    step = line_mm(SKIP_PT) + 0.8
    for reason in reasons:
        need = TICK_MM + PAD / 2 + canvas.text_mm(reason, SKIP_PT) + 1.2
        if left + need > width - PAD:
            left, top = PAD + TICK_MM + PAD, top + step
        placed.append((left, top, reason))
        left += need

    def draw(c: Canvas, x: float, y: float) -> None:
        c.box(x + PAD, y + 0.6, TICK_MM, TICK_MM, 0.7)
        c.text(x + PAD + TICK_MM + PAD, y + 0.4, label, SKIP_PT, True)
        for dx, dy, reason in placed:
            c.box(x + dx, y + dy + 0.6, TICK_MM, TICK_MM, 0.3)
            c.text(x + dx + TICK_MM + PAD / 2, y + dy + 0.4, reason, SKIP_PT)

    return Row(top + step + 0.6, draw)


def blank_rows(canvas: Canvas, blanks: Sequence[Blank], width: float) -> list[Row]:
    """Lines to write on, with room for a gloved hand."""
    lines: list[list[Blank]] = [[]]
    used = 0.0
    for blank in blanks:
        if lines[-1] and used + blank.share > 1.001:
            lines.append([])
            used = 0.0
        lines[-1].append(blank)
        used += blank.share
    return [_blank_row(line, width) for line in lines if line]


def _blank_row(blanks: list[Blank], width: float) -> Row:
    def draw(c: Canvas, x: float, y: float) -> None:
        left, base = x + PAD, y + BLANK_MM - 1.2
        for blank in blanks:
            span = blank.share * (width - 2 * PAD)
            c.text(left, base - line_mm(BODY_PT) + 0.8, blank.label, BODY_PT, True)
            unit_mm = c.text_mm(blank.unit, BODY_PT) + PAD if blank.unit else 0.0
            start = left + c.text_mm(blank.label, BODY_PT, True) + PAD
            c.rule(start, base, left + span - 2 * PAD - unit_mm, base, 0.35)
            c.text(left + span - PAD - unit_mm, base - line_mm(BODY_PT) + 0.8, blank.unit, BODY_PT)
            left += span

    return Row(BLANK_MM, draw)
