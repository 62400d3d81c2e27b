"""Print page 1 of a run sheet: the table of the day, its cautions, and the sketch of the route."""

from __future__ import annotations

import math
from dataclasses import dataclass

from routing.reports.printing.pdf_canvas import Canvas
from routing.reports.printing.pdf_rows import Draw, Row, line_mm
from routing.reports.sheet.model import DayPage, DayRow
from routing.reports.sheet.sketch import HOUSE_MM, Dot, Sketch

TITLE_PT, FIGURE_PT, MARK_PT, NAME_PT, TIME_PT, SMALL_PT = 19.0, 14.0, 13.0, 10.5, 12.0, 9.0
ROW_MM, TIGHT_MM, HEAD_ROW_MM, BADGE_MM, TICK_MM = 6.2, 5.3, 9.0, 9.0, 4.4
LEAST_SKETCH_MM = 38.0
GREY = 228


@dataclass(frozen=True)
class Column:
    """Where a column stands: its left edge and width, in mm."""

    left: float
    width: float


def columns_of(page: DayPage, width: float) -> dict[str, Column]:
    """The columns of the table; what is left after the figures goes to the names and to what to mind."""
    narrow = 14.5 if len(page.syrups) + len(page.tanks) > 4 else 16.5
    fixed = {"mark": 10.0, "arrive": 14.0, "latest": 12.5}
    fixed |= {f"syrup{i}": narrow for i in range(len(page.syrups))}
    fixed |= {"pails": 11.0} if any(row.pails for row in page.rows) else {}
    tanks = {f"tank{i}": narrow - 4.5 for i in range(len(page.tanks))}
    right = {**tanks, "weight": 16.0, "tick": 7.0}
    spare = max(width - sum(fixed.values()) - sum(right.values()), 60.0)
    order: dict[str, float] = {"mark": 10.0, "name": spare * 0.62}
    order |= {key: value for key, value in fixed.items() if key != "mark"} | {"mind": spare * 0.38} | right
    found, left = {}, 0.0
    for key, wide in order.items():
        found[key] = Column(left, wide)
        left += wide
    return found


def day_rows(canvas: Canvas, page: DayPage, width: float, room: float) -> list[Row]:
    """Title, table, notes and sketch as rows; the sketch takes what is left of ``room`` (mm), if enough."""
    columns = columns_of(page, width)
    notes = _notes(canvas, page, width)
    title_mm = BADGE_MM + line_mm(FIGURE_PT) + 3
    fixed = title_mm + HEAD_ROW_MM + len(notes) * line_mm(SMALL_PT) + 2
    row_mm = ROW_MM if fixed + len(page.rows) * ROW_MM + LEAST_SKETCH_MM <= room else TIGHT_MM
    rows = [
        Row(title_mm, lambda c, x, y: _title(c, page, x, y, width)),
        Row(HEAD_ROW_MM, lambda c, x, y: _head(c, page, columns, x, y, width)),
    ]
    rows += [Row(row_mm, _row_drawer(row, columns, width, row_mm)) for row in page.rows]
    rows.append(Row(1.2, lambda c, x, y: None))
    rows += [Row(line_mm(SMALL_PT), _note_drawer(text)) for text in notes]
    high = min(room - fixed - len(page.rows) * row_mm - 2, 110.0)
    if high >= LEAST_SKETCH_MM:
        sketch = page.ground.fitted(width, high - 1)
        rows.append(Row(high, lambda c, x, y: draw_sketch(c, sketch, x, y + 1)))
    return rows


def _row_drawer(row: DayRow, columns: dict[str, Column], width: float, row_mm: float) -> Draw:
    def draw(c: Canvas, x: float, y: float) -> None:
        if row.kind != "yard":
            c.shade(x, y, width, row_mm, GREY)
        _row(c, row, columns, x, y, row_mm)
        c.rule(x, y + row_mm, x + width, y + row_mm, 0.6 if row.strong else 0.12)

    return draw


def _note_drawer(text: str) -> Draw:
    return lambda c, x, y: c.text(x, y, text, SMALL_PT)


def _title(canvas: Canvas, page: DayPage, x: float, y: float, width: float) -> None:
    badge = max(BADGE_MM, canvas.text_mm(page.letter, TITLE_PT, True) + 3)
    canvas.black(x, y, badge, BADGE_MM)
    canvas.white_text(
        x + (badge - canvas.text_mm(page.letter, TITLE_PT, True)) / 2, y + 0.4, page.letter, TITLE_PT
    )
    left = x + badge + 3
    title = canvas.fit(page.title, width * 0.5, TITLE_PT, True)
    canvas.text(left, y + 0.4, title, TITLE_PT, True)
    left += canvas.text_mm(title, TITLE_PT, True) + 4
    canvas.text(left, y + 2.6, canvas.fit(page.date_text, x + width - left, 10.5), 10.5)
    y += BADGE_MM + 1.5
    left = x
    for value, word in page.figures:
        canvas.text(left, y, value, FIGURE_PT, True)
        left += canvas.text_mm(value, FIGURE_PT, True) + 1.2
        canvas.text(left, y + 1.1, word, 10.5)
        left += canvas.text_mm(word, 10.5) + 5


def _notes(canvas: Canvas, page: DayPage, width: float) -> list[str]:
    found = canvas.wrap(page.legend, width, SMALL_PT)
    for caution in page.cautions:
        found += canvas.wrap(f"CAUTION: {caution}", width, SMALL_PT)
    return found


def _head(
    canvas: Canvas, page: DayPage, columns: dict[str, Column], x: float, y: float, width: float
) -> None:
    volume, mass = page.units
    unit, _, limit = mass.partition(" ")
    heads = {
        "name": ("Yard", ""),
        "arrive": ("Arrive", ""),
        "latest": ("Latest", ""),
        "pails": ("Pails", "full"),
    }
    heads |= {f"syrup{i}": (name, volume) for i, name in enumerate(page.syrups)}
    heads |= {f"tank{i}": (name, "left") for i, name in enumerate(page.tanks)}
    heads |= {"mind": ("Mind", ""), "weight": (f"Weight {unit}", limit)}
    for key, (upper, lower) in heads.items():
        if key not in columns:
            continue
        column, right = columns[key], key not in ("name", "mind")
        for k, (text, bold) in enumerate(((upper, True), (lower, False))):
            said = canvas.fit(text, column.width - 1, SMALL_PT, bold)
            shift = column.width - 1 - canvas.text_mm(said, SMALL_PT, bold) if right else 0.0
            top = y + (k * line_mm(SMALL_PT) if lower else line_mm(SMALL_PT))
            canvas.text(x + column.left + shift, top + 0.3, said, SMALL_PT, bold)
    canvas.rule(x, y + HEAD_ROW_MM, x + width, y + HEAD_ROW_MM, 0.6)


def _row(canvas: Canvas, row: DayRow, columns: dict[str, Column], x: float, y: float, row_mm: float) -> None:
    def put(key: str, text: str, size: float, bold: bool, right: bool = True) -> None:
        if key not in columns or not text:
            return
        column = columns[key]
        while size > SMALL_PT and canvas.text_mm(text, size, bold) > column.width - 1:
            size -= 0.5
        said = canvas.fit(text, column.width - 1, size, bold)
        shift = column.width - 1 - canvas.text_mm(said, size, bold) if right else 0.0
        canvas.text(x + column.left + shift, y + (row_mm - line_mm(size)) / 2, said, size, bold)

    yard = row.kind == "yard"
    put("mark", row.mark, MARK_PT, True)
    put("name", row.name, NAME_PT, True, right=False)
    put("arrive", row.arrive, TIME_PT, True)
    put("latest", row.latest, 10.0, row.early)
    for i, amount in enumerate(row.amounts):
        put(f"syrup{i}", amount, 11.5, True)
    put("pails", row.pails, 11.5, True)
    put("mind", row.mind, SMALL_PT, row.strong, right=False)
    for i, level in enumerate(row.left):
        put(f"tank{i}", level, 9.5, False)
    put("weight", row.weight, 9.5, False)
    if yard:
        tick = columns["tick"]
        canvas.box(x + tick.left + tick.width - TICK_MM, y + (row_mm - TICK_MM) / 2, TICK_MM, TICK_MM, 0.35)


def draw_sketch(canvas: Canvas, sketch: Sketch, x: float, y: float) -> None:
    """The route: lines by load, arrows, dots with their numbers, houses for depots."""
    for points, dash in sketch.lines:
        canvas.polyline([(px + x, py + y) for px, py in points], 0.45, dash)
    for (px, py), heading in sketch.arrows:
        canvas.polygon(_dart(px + x, py + y, heading))
    for dot in sketch.dots:
        _dot(canvas, dot, x, y)


def _dot(canvas: Canvas, dot: Dot, x: float, y: float) -> None:
    px, py = dot.at[0] + x, dot.at[1] + y
    if dot.house:
        shape = ((0, -1.15), (1.1, -0.25), (0.72, 1), (-0.72, 1), (-1.1, -0.25))
        canvas.polygon([(px + a * HOUSE_MM, py + b * HOUSE_MM) for a, b in shape])
    else:
        canvas.disc(px, py, 1.0)
    if dot.starving:
        canvas.circle(px, py, 1.9, 0.5)
    if dot.quarantine:
        canvas.box(px - 1.9, py - 1.9, 3.8, 3.8, 0.5)
    if dot.label:
        canvas.text(dot.label[0] + x, dot.label[1] + y - line_mm(SMALL_PT) / 2, dot.number, SMALL_PT, True)


def _dart(x: float, y: float, heading: float) -> list[tuple[float, float]]:
    cos, sin = math.cos(heading), math.sin(heading)
    shape = ((2.0, 0.0), (-1.5, 1.25), (-0.7, 0.0), (-1.5, -1.25))
    return [(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in shape]
