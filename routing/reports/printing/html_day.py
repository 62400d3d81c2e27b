"""Print page 1 of a run sheet as HTML: the table of the day, its cautions, and the sketch as SVG."""

from __future__ import annotations

import math
from html import escape

from routing.reports.sheet.model import DayPage, DayRow
from routing.reports.sheet.sketch import HOUSE_MM, Dot, Sketch

STYLE = """
.day { break-after: page }
.day h2 { font-size: 19pt } .day h2 b { background: #000; color: #fff; padding: 0 2mm; margin-right: 3mm }
.day .figures { font-size: 14pt; margin: 1mm 0 } .day .figures span { font-size: 10.5pt; margin-right: 5mm }
.day .wide { overflow-x: auto }
.day table { width: 100%; border-collapse: collapse; font-size: 10pt }
.day th { font-size: 9pt; text-align: right; vertical-align: bottom; padding: 0 1mm }
.day td { text-align: right; padding: .8mm 1mm; border-bottom: .15mm solid #000 }
.day thead { border-bottom: .6mm solid #000 }
.day .l { text-align: left } .day .yard .m, .day .yard .t { font-size: 12pt }
.day b, .day .m, .day .t { font-weight: bold }
.day tr:not(.yard) td { background: #e4e4e4 } .day .strong td { border-bottom: .6mm solid #000 }
.day .tick { width: 5mm } .day .yard .tick { border: .35mm solid #000 }
.day p { font-size: 9.5pt; margin: 1mm 0 } .day svg { width: 100%; height: auto; border: .2mm solid #000 }
"""


def day_html(page: DayPage) -> str:
    """Page 1 as a section of HTML."""
    figures = "".join(f"<b>{_text(v)}</b> <span>{_text(w)}</span>" for v, w in page.figures)
    rows = "".join(_row(page, row) for row in page.rows)
    said = (page.legend, *(f"CAUTION: {caution}" for caution in page.cautions))
    notes = "".join(f"<p>{_text(text)}</p>" for text in said)
    return (
        f'<section class="day"><h2><b>{_text(page.letter)}</b>{_text(page.title)}</h2>'
        f"<p>{_text(page.date_text)}</p>"
        f'<p class="figures">{figures}</p><div class="wide" tabindex="0" role="region" aria-label="The day">'
        f"<table><thead><tr>{_heads(page)}</tr></thead>"
        f"<tbody>{rows}</tbody></table></div>{notes}{sketch_svg(page.ground.fitted(190.0, 85.0))}</section>"
    )


def _heads(page: DayPage) -> str:
    volume, mass = page.units
    heads = [("", "#"), ("l", "Yard"), ("", "Arrive"), ("", "Latest")]
    heads += [("", f"{name}, {volume}") for name in page.syrups] + [("", "Full pails"), ("l", "Mind")]
    heads += [("", f"{name}, left") for name in page.tanks] + [("", f"Weight, {mass}"), ("", "Done")]
    return "".join(f'<th scope="col" class="{css}">{_text(text)}</th>' for css, text in heads)


def _row(page: DayPage, row: DayRow) -> str:
    latest = f"<b>{_text(row.latest)}</b>" if row.early else _text(row.latest)
    mind = f"<b>{_text(row.mind)}</b>" if row.strong else _text(row.mind)
    cells = [
        ("m", _text(row.mark)),
        ("l", f"<b>{_text(row.name)}</b>"),
        ("t", _text(row.arrive)),
        ("", latest),
    ]
    cells += [("", f"<b>{_text(amount)}</b>") for amount in row.amounts]
    cells += [("", f"<b>{_text(row.pails)}</b>"), ("l", mind)]
    cells += [("", _text(level)) for level in row.left] + [("", _text(row.weight)), ("tick", "")]
    look = f"{row.kind}{' strong' if row.strong else ''}"
    body = "".join(f'<td class="{css}">{cell}</td>' for css, cell in cells)
    return f'<tr class="{look}">{body}</tr>'


def sketch_svg(sketch: Sketch) -> str:
    """The route as SVG, one unit a millimetre."""
    parts = []
    for points, dash in sketch.lines:
        line = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashed = f' stroke-dasharray="{" ".join(map(str, dash))}"' if dash else ""
        parts.append(f'<polyline points="{line}" fill="none" stroke="#000" stroke-width=".45"{dashed}/>')
    for (x, y), heading in sketch.arrows:
        turn = math.degrees(heading)
        parts.append(
            f'<path d="M2 0-1.5 1.25-.7 0-1.5-1.25Z" stroke="#fff" stroke-width=".3"'
            f' transform="translate({x:.1f} {y:.1f}) rotate({turn:.0f})"/>'
        )
    parts += [_dot(dot) for dot in sketch.dots]
    return (
        f'<svg viewBox="0 0 {sketch.width:g} {sketch.height:g}" role="img" aria-label="Sketch of the route">'
        f"{''.join(parts)}</svg>"
    )


def _dot(dot: Dot) -> str:
    x, y = dot.at
    if dot.house:
        h = HOUSE_MM
        roof, wall = f"l{1.1 * h:.1f} {0.9 * h:.1f}", f"v{1.3 * h:.1f}h{-2.2 * h:.1f}v{-1.3 * h:.1f}Z"
        shape = f'<path d="M{x:.1f} {y - 1.15 * h:.1f}{roof}{wall}"/>'
    else:
        shape = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1" stroke="#fff" stroke-width=".3"/>'
    if dot.starving:
        shape += f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1.9" fill="none" stroke="#000" stroke-width=".5"/>'
    if dot.quarantine:
        shape += (
            f'<rect x="{x - 1.9:.1f}" y="{y - 1.9:.1f}" width="3.8" height="3.8" fill="none" stroke="#000"'
            ' stroke-width=".5"/>'
        )
    if dot.label:
        shape += (
            f'<text x="{dot.label[0]:.1f}" y="{dot.label[1] + 1.1:.1f}" font-size="3.2" font-weight="700">'
            f"{escape(dot.number)}</text>"
        )
    return shape


def _text(text: str) -> str:
    return f"<bdi>{escape(text)}</bdi>"
