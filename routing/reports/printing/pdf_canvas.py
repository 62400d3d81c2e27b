"""Draw text, lines and QR codes on PDF pages with fpdf2, measured before they are drawn."""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Sequence
from datetime import UTC, date, datetime, time
from pathlib import Path

from fpdf import FPDF
from fpdf.bidi import BidiParagraph
from fpdf.fonts import TTFFont

from routing.reports.printing.qr import qr_png

FONTS = Path(__file__).parent / "fonts"
FAMILY = "dejavu"
PT_MM = 25.4 / 72
LINE = 1.19
"""Distance of two lines over the size of the letters."""
MISSING = "\u25a1"
SILENT = frozenset("\u200b\u200c\u200d\u2060\ufeff\ufe0e\ufe0f")
"""Joiners and variation marks: they have no shape of their own."""
PAPER_MM = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}


class Canvas:
    """One PDF document in black on white; lengths in mm from the upper left corner, sizes in points.

    Text is laid out letter by letter: scripts written from right to left come out in the right order,
    but joined scripts (Arabic, Devanagari) are not shaped, and a letter the font lacks is named in
    brackets where it is a picture, else shown as an empty box. Nothing typed by a user can fail here.
    """

    def __init__(self, paper: str, title: str, day: date) -> None:
        self.width_mm, self.height_mm = PAPER_MM[paper]
        self._pdf = FPDF(unit="mm", format=(self.width_mm, self.height_mm))
        self._pdf.set_auto_page_break(False)
        self._pdf.add_font(FAMILY, "", FONTS / "DejaVuSans.ttf")
        self._pdf.add_font(FAMILY, "B", FONTS / "DejaVuSans-Bold.ttf")
        self._pdf.set_title(self.drawable(title))
        # The file tells the day it is for, never the moment it was made: same plan, same bytes.
        self._pdf.set_creation_date(datetime.combine(day, time(0), UTC))
        self._widths: dict[tuple[str, bool], float] = {}
        self._text_widths: dict[tuple[str, bool], float] = {}

    def add_page(self) -> None:
        """Begin a new page."""
        self._pdf.add_page()

    def output(self) -> bytes:
        """The finished file."""
        return bytes(self._pdf.output())

    def drawable(self, text: str) -> str:
        """The text with every letter that the font lacks replaced by its name or by an empty box."""
        font = self._pdf.fonts[FAMILY]
        known = font.cmap if isinstance(font, TTFFont) else {}
        return "".join(c if ord(c) in known else _stand_in(c) for c in text if c not in SILENT)

    def char_mm(self, char: str, bold: bool) -> float:
        """Advance of one letter at 1 pt."""
        key = (char, bold)
        if key not in self._widths:
            self._pdf.set_font(FAMILY, "B" if bold else "", 100)
            self._widths[key] = self._pdf.get_string_width(char) / 100
        return self._widths[key]

    def text_mm(self, text: str, size: float, bold: bool = False) -> float:
        """Width of a text of drawable letters."""
        key = (text, bold)
        # A sheet says the same words in every box.
        if key not in self._text_widths:
            self._text_widths[key] = sum(self.char_mm(char, bold) for char in text)
        return size * self._text_widths[key]

    def wrap(self, text: str, width: float, size: float, bold: bool = False, first: float = 0.0) -> list[str]:
        """Lines no wider than ``width``; the first leaves ``first`` mm free. Long words are broken."""
        lines: list[str] = []
        for paragraph in self.drawable(text).split("\n"):
            lines += self._wrap_paragraph(paragraph, width, size, bold, 0.0 if lines else first)
        return lines

    def _wrap_paragraph(self, text: str, width: float, size: float, bold: bool, first: float) -> list[str]:
        lines, line, used, room = [], "", 0.0, width - first
        for word in _words(text):
            word_mm = self.text_mm(word, size, bold)
            if used + self.text_mm(word.rstrip(), size, bold) <= room:
                line, used = line + word, used + word_mm
                continue
            if line or room < width:
                lines.append(line.rstrip())
                line, used, room = "", 0.0, width
            for char in word:
                char_mm = size * self.char_mm(char, bold)
                if line and used + char_mm > room and char != " ":
                    lines.append(line.rstrip())
                    line, used, room = "", 0.0, width
                line, used = line + char, used + char_mm
        return [*lines, line.rstrip()]

    def text(self, x: float, top: float, text: str, size: float, bold: bool = False) -> None:
        """One line of text whose upper edge is at ``top``."""
        if not text:
            return
        self._pdf.set_font(FAMILY, "B" if bold else "", size)
        # 0.93 of the size from the top of the line to the baseline sits the capitals in the middle.
        self._pdf.text(x, top + 0.93 * size * PT_MM + 0.06 * size * PT_MM, in_reading_order(text))

    def rule(self, x1: float, y1: float, x2: float, y2: float, width: float = 0.25) -> None:
        """A straight black line."""
        self._pdf.set_line_width(width)
        self._pdf.line(x1, y1, x2, y2)

    def box(self, x: float, y: float, w: float, h: float, width: float = 0.3, fill: bool = False) -> None:
        """A black rectangle, filled in pale grey for table heads when asked."""
        self._pdf.set_line_width(width)
        self._pdf.set_fill_color(232)
        self._pdf.rect(x, y, w, h, style="DF" if fill else "D")

    def fit(self, text: str, width: float, size: float, bold: bool = False) -> str:
        """The text in one line, cut with an ellipsis where it is wider than ``width``."""
        text = self.drawable(text.replace("\n", " "))
        if self.text_mm(text, size, bold) <= width:
            return text
        while text and self.text_mm(text + "…", size, bold) > width:
            text = text[:-1]
        return f"{text.rstrip()}…" if text else ""

    def shade(self, x: float, y: float, w: float, h: float, grey: int) -> None:
        """A grey area without a border, 0 black to 255 white."""
        self._pdf.set_fill_color(grey)
        self._pdf.rect(x, y, w, h, style="F")

    def black(self, x: float, y: float, w: float, h: float) -> None:
        """A black area."""
        self.shade(x, y, w, h, 0)

    def white_text(self, x: float, top: float, text: str, size: float) -> None:
        """Bold white text on black."""
        self._pdf.set_text_color(255)
        self.text(x, top, text, size, True)
        self._pdf.set_text_color(0)

    def polyline(
        self, points: Sequence[tuple[float, float]], width: float, dash: Sequence[float] = ()
    ) -> None:
        """A line through points; ``dash``: lengths of line and gap in mm (two, or four for dash and dot)."""
        self._pdf.set_line_width(width)
        if dash:
            self._pdf.set_dash_pattern(dash=dash[0], gap=dash[1])
        self._pdf.polyline(list(points))
        self._pdf.set_dash_pattern()

    def polygon(self, points: Sequence[tuple[float, float]]) -> None:
        """A black shape with a thin white rim."""
        self._pdf.set_fill_color(0)
        self._pdf.set_draw_color(255)
        self._pdf.set_line_width(0.35)
        self._pdf.polygon(list(points), style="DF")
        self._pdf.set_draw_color(0)

    def disc(self, x: float, y: float, radius: float) -> None:
        """A black dot with a thin white rim."""
        self._pdf.set_fill_color(0)
        self._pdf.set_draw_color(255)
        self._pdf.set_line_width(0.35)
        self._pdf.circle(x, y, radius, style="DF")
        self._pdf.set_draw_color(0)

    def circle(self, x: float, y: float, radius: float, width: float) -> None:
        """A black ring."""
        self._pdf.set_line_width(width)
        self._pdf.circle(x, y, radius)

    def link(self, x: float, y: float, w: float, h: float, uri: str) -> None:
        """Make an area open a link."""
        self._pdf.link(x, y, w, h, uri)

    def qr(self, x: float, y: float, side: float, content: str) -> None:
        """A QR code, quiet zone in, drawn as a square of ``side`` mm."""
        self._pdf.image(io.BytesIO(qr_png(content)), x, y, side, side)


def _words(text: str) -> list[str]:
    """Words with the blank behind them."""
    parts = text.split(" ")
    return [part + " " for part in parts[:-1]] + [parts[-1]]


def _stand_in(char: str) -> str:
    """``[honeybee]`` for a picture the font lacks, an empty box for a letter."""
    if char == "\n":
        return char
    if unicodedata.category(char) in ("So", "Sk"):
        name = unicodedata.name(char, "").lower()
        if name and not name.startswith("emoji modifier"):
            return f"[{name}]"
        return "" if name else MISSING
    return "" if unicodedata.category(char) in ("Cf", "Cc") else MISSING


def in_reading_order(line: str) -> str:
    """The letters of a line as they stand on paper, where some run from right to left."""
    if not any(unicodedata.bidirectional(char) in ("R", "AL", "AN") for char in line):
        return line
    return str(BidiParagraph(line).get_reordered_string())
