"""Draw small charts as SVG text: lines over time, bars side by side. No library needed."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import ceil, floor, log10

WIDTH, HEIGHT = 720, 340
LEFT, RIGHT, TOP, BOTTOM = 62, 16, 34, 44
# Told apart in grey and by most colour-blind eyes (Okabe & Ito 2008).
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#000000")
Series = tuple[str, Sequence[tuple[float, float]]]


def steps(title: str, x_name: str, y_name: str, series: Sequence[Series], x_most: float) -> str:
    """Prices that fall in steps over time, one line a series."""
    values = [y for _, points in series for _, y in points]
    low, high = min(values), max(values)
    pad = (high - low) * 0.06 or 1.0
    frame = _Frame((0.0, x_most), (low - pad, high + pad))
    parts = [_title(title), *frame.axes(x_name, y_name)]
    for i, (name, points) in enumerate(series):
        corners: list[tuple[float, float]] = []
        for x, y in points:
            corners += [(x, corners[-1][1]), (x, y)] if corners else [(x, y)]
        corners.append((x_most, corners[-1][1]))
        line = " ".join(f"{frame.x(x):.1f},{frame.y(y):.1f}" for x, y in corners)
        parts.append(f'<polyline fill="none" stroke="{_colour(i)}" stroke-width="1.8" points="{line}"/>')
        parts += _legend(i, name)
    return _page(parts)


def curves(title: str, x_name: str, y_name: str, series: Sequence[Series]) -> str:
    """Points joined by lines, both axes logarithmic: values must be above nought."""
    shown = [(name, points) for name, points in series if points]
    xs = [x for _, points in shown for x, _ in points] or [1.0]
    ys = [y for _, points in shown for _, y in points] or [1.0]
    frame = _LogFrame((min(xs) / 1.2, max(xs) * 1.2), (min(ys) / 1.5, max(ys) * 1.5))
    parts = [_title(title), *frame.axes(x_name, y_name)]
    for i, (name, points) in enumerate(shown):
        line = " ".join(f"{frame.x(x):.1f},{frame.y(y):.1f}" for x, y in points)
        parts.append(f'<polyline fill="none" stroke="{_colour(i)}" stroke-width="1.8" points="{line}"/>')
        parts += [
            f'<circle cx="{frame.x(x):.1f}" cy="{frame.y(y):.1f}" r="3" fill="{_colour(i)}"/>'
            for x, y in points
        ]
        parts += _legend(i, name, frame.right)
    return _page(parts)


def bars(
    title: str, y_name: str, groups: Sequence[str], series: Sequence[tuple[str, Sequence[float]]]
) -> str:
    """Bars side by side: one group a day, one bar a series; a missing value is no bar."""
    highest = max((v for _, values in series for v in values if v == v), default=1.0)
    frame = _Frame((0.0, float(len(groups))), (0.0, highest * 1.08 or 1.0))
    parts = [_title(title), *frame.axes("", y_name, ticks_x=False)]
    wide = 0.8 / max(1, len(series))
    for g, group in enumerate(groups):
        for i, (_, values) in enumerate(series):
            if values[g] != values[g]:
                continue
            x, y = frame.x(g + 0.1 + i * wide), frame.y(values[g])
            width, height = frame.x(wide) - frame.x(0), max(0.8, frame.y(0) - y)
            parts.append(
                f'<rect x="{x:.1f}" y="{frame.y(0) - height:.1f}" width="{width - 1:.1f}" '
                f'height="{height:.1f}" fill="{_colour(i)}"/>'
            )
        parts.append(_text(frame.x(g + 0.5), HEIGHT - BOTTOM + 16, group, "middle"))
    for i, (name, _) in enumerate(series):
        parts += _legend(i, name)
    return _page(parts)


class _Frame:
    """Where values lie on the page."""

    right = RIGHT

    def __init__(self, x_range: tuple[float, float], y_range: tuple[float, float]) -> None:
        self.x_range, self.y_range = x_range, y_range

    def x(self, value: float) -> float:
        a, b = self.x_range
        return LEFT + (value - a) / (b - a) * (WIDTH - LEFT - self.right)

    def y(self, value: float) -> float:
        a, b = self.y_range
        return HEIGHT - BOTTOM - (value - a) / (b - a) * (HEIGHT - TOP - BOTTOM)

    def ticks(self, low: float, high: float) -> list[float]:
        """Where to write numbers."""
        return _ticks(low, high)

    def axes(self, x_name: str, y_name: str, *, ticks_x: bool = True) -> list[str]:
        parts = []
        for value in self.ticks(*self.y_range):
            y = self.y(value)
            parts.append(
                f'<line x1="{LEFT}" x2="{WIDTH - self.right}" y1="{y:.1f}" y2="{y:.1f}" stroke="#ddd"/>'
            )
            parts.append(_text(LEFT - 6, y + 4, f"{value:g}", "end"))
        for value in self.ticks(*self.x_range) if ticks_x else ():
            parts.append(_text(self.x(value), HEIGHT - BOTTOM + 16, f"{value:g}", "middle"))
        parts.append(_text((LEFT + WIDTH - self.right) / 2, HEIGHT - 10, x_name, "middle"))
        middle = (TOP + HEIGHT - BOTTOM) / 2
        turn = f'transform="rotate(-90 14 {middle})"'
        parts.append(f'<text x="14" y="{middle}" text-anchor="middle" {turn}>{escape(y_name)}</text>')
        base = HEIGHT - BOTTOM
        parts.append(f'<line x1="{LEFT}" x2="{WIDTH - self.right}" y1="{base}" y2="{base}" stroke="#333"/>')
        return parts


class _LogFrame(_Frame):
    """The same with logarithmic axes, and room beside them for the names of lines that cross all of it."""

    right = 200

    def x(self, value: float) -> float:
        a, b = (log10(v) for v in self.x_range)
        return LEFT + (log10(value) - a) / (b - a) * (WIDTH - LEFT - self.right)

    def y(self, value: float) -> float:
        a, b = (log10(v) for v in self.y_range)
        return HEIGHT - BOTTOM - (log10(value) - a) / (b - a) * (HEIGHT - TOP - BOTTOM)

    def ticks(self, low: float, high: float) -> list[float]:
        """1, 3, 10, 30 and so on; 1 and 10 only over many powers of ten."""
        steps = (1, 3) if high / low < 1e4 else (1,)
        powers = range(floor(log10(low)), ceil(log10(high)) + 1)
        return [s * 10.0**p for p in powers for s in steps if low <= s * 10.0**p <= high]


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers, four to nine of them, that span a range."""
    step = 10.0 ** floor(log10((high - low) / 4))
    step *= next(f for f in (1, 2, 5, 10) if (high - low) / (step * f) <= 8)
    return [round(n * step, 10) for n in range(ceil(low / step), floor(high / step) + 1)]


def _colour(i: int) -> str:
    return COLOURS[i % len(COLOURS)]


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _title(words: str) -> str:
    return f'<text x="{LEFT}" y="18" font-weight="bold">{escape(words)}</text>'


def _legend(i: int, name: str, margin: int = RIGHT) -> list[str]:
    """A name with its colour; ``margin`` is the room beside the frame, used where there is some."""
    x, y = (WIDTH - RIGHT - 200 if margin == RIGHT else WIDTH - margin + 14), TOP + 6 + 16 * i
    return [
        f'<rect x="{x}" y="{y}" width="12" height="10" fill="{_colour(i)}"/>',
        _text(x + 18, y + 9, name, "start"),
    ]


def _page(parts: Sequence[str]) -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}" font-family="sans-serif" font-size="12">'
    )
    return "\n".join([head, f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>', *parts, "</svg>", ""])
