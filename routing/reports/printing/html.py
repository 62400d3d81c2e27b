"""Print a run sheet as one HTML page with print rules: no script, nothing fetched, works offline."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from routing.reports.printing.html_day import STYLE as DAY_STYLE
from routing.reports.printing.html_day import day_html
from routing.reports.printing.qr import qr_svg
from routing.reports.sheet.model import Blank, Block, SheetContent, Table, Where
from routing.reports.words.route_day import Fact

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"

STYLE = """
:root { color-scheme: light }
* { box-sizing: border-box }
body { margin: 0 auto; padding: 4mm; max-width: 200mm; background: #fff; color: #000;
  font: 12pt/1.3 "DejaVu Sans", Verdana, "Segoe UI", Roboto, Arial, sans-serif }
bdi { overflow-wrap: anywhere; white-space: pre-line }
a { color: #000 }
.frame { width: 100%; border-collapse: collapse; table-layout: fixed }
.frame > thead > tr > th, .frame > tbody > tr > td { padding: 0 0 3mm; text-align: left; font-weight: normal }
.head { display: flex; justify-content: space-between; gap: 4mm; border-bottom: .6mm solid #000;
  font-weight: bold; padding-bottom: 1mm }
h1 { font-size: 13pt; margin: 0 }
h2 { font-size: 15pt; line-height: 1.2; margin: 0 }
.block { border: .7mm solid #000; break-inside: avoid; padding: 0 1.6mm 1.6mm }
.flows:not(.totals) { break-inside: auto }
.flows .top { break-after: avoid }
.top { display: flex; border-bottom: .5mm solid #000; margin: 0 -1.6mm 1mm }
.mark { flex: none; min-width: 22mm; padding: 0 2mm; display: flex; flex-direction: column;
  align-items: center; justify-content: center; font-size: 26pt; font-weight: bold;
  border-right: .5mm solid #000 }
.long { font-size: 13pt }
.badge { border: .8mm solid #000; font-size: 13pt; line-height: 1.1; padding: 0 1.5mm; margin-top: 1mm }
.changes .top { border-bottom-width: 1mm } .changes h2 { font-size: 17pt }
.changes dl.facts div { font-size: 14pt }
.name { flex: 1; min-width: 0; padding: 1mm 2mm }
.times { flex: none; margin: 0; padding: 1mm 1.6mm; display: grid; grid-template-columns: auto auto;
  column-gap: 4mm; align-content: start }
.times dd { font-size: 15pt; font-weight: bold; text-align: right; margin: 0 }
.times dt { align-self: center }
.flag { border: 1.2mm double #000; outline: .4mm solid #000; font-weight: bold; font-size: 13pt;
  padding: 1mm 2mm; margin: 2mm 1mm }
.side { display: flex; gap: 2mm; justify-content: space-between }
.qr { flex: none; width: 25mm; height: 25mm }
.qr svg { width: 100%; height: 100%; display: block }
dl.facts { margin: 0; display: grid; grid-template-columns: minmax(0, 34mm) minmax(0, 1fr);
  column-gap: 2mm; flex: 1; align-content: start }
dl.wide { grid-template-columns: minmax(0, 48mm) minmax(0, 1fr) }
dl.facts dd { margin: 0 }
.strong { font-weight: bold }
.flows dl.facts { display: block }
.flows dl.facts dt { font-weight: bold; display: inline }
.flows dl.facts dt::after { content: ": " }
.flows dl.facts dd { display: inline }
.flows dl.facts div { margin-bottom: 1mm; break-inside: avoid }
table.feed { width: 100%; border-collapse: collapse; margin: 1.5mm 0 }
table.feed th, table.feed td { border: .25mm solid #000; padding: .3mm 1mm; text-align: left;
  vertical-align: top }
table.feed th { background: #e8e8e8 }
table.feed .n { text-align: right }
table.feed .n bdi { white-space: nowrap; overflow-wrap: normal }
table.feed tfoot td { font-size: 13pt; font-weight: bold }
ul.ticks { list-style: none; margin: 1mm 0; padding: 0; display: flex; flex-wrap: wrap;
  gap: 1mm 5mm }
ul.ticks li { display: flex; align-items: flex-start }
ul.ticks li::before { content: ""; flex: none; width: 3.8mm; height: 3.8mm; border: .35mm solid #000;
  margin: .5mm 1.6mm 0 0 }
ul.checks { display: grid; grid-template-columns: repeat(auto-fill, minmax(78mm, 1fr)) }
ul.ticks li.skip { font-weight: bold }
ul.ticks li.skip::before { border-width: .8mm }
.blanks { display: flex; flex-wrap: wrap; margin: 1mm 0 0 }
.blank { display: flex; align-items: flex-end; height: 9.5mm; padding-right: 4mm; font-weight: bold }
.blank i { flex: 1; border-bottom: .35mm solid #000; margin: 0 1.2mm }
.blank span { font-weight: normal }
.emergency { border-top: .5mm solid #000; margin: 1.6mm -1.6mm -1.6mm; padding: .8mm 1.6mm;
  font-weight: bold }
@media screen and (max-width: 640px) {
  .top { flex-wrap: wrap }
  .times { width: 100%; border-top: .3mm solid #000 }
  dl.facts { grid-template-columns: 1fr }
  dl.facts dt { font-weight: bold; margin-top: 1mm }
  .side { flex-direction: column }
  .blank { width: 100% !important }
  table.feed, table.feed tbody, table.feed tfoot, table.feed tr, table.feed td { display: block }
  table.feed thead { position: absolute; left: -999em }
  table.feed tr { border: .25mm solid #000; padding: 1mm }
  table.feed td, table.feed .n { border: 0; text-align: left }
  table.feed td[data-label]::before { content: attr(data-label) ": "; font-weight: normal }
  table.feed td:empty { display: none }
}
@media print {
  body { font-size: 11pt; line-height: 1.2; padding: 0; max-width: none }
  a { text-decoration: none }
  .geo { display: none }
  .frame > thead > tr > th, .frame > tbody > tr > td { padding-bottom: 2mm }
  .name { padding: .5mm 2mm } .times { padding: .5mm 1.6mm } .times dd { line-height: 1.15 }
  .qr { height: 24mm; width: 24mm }
  table.feed, ul.ticks { margin: .6mm 0 } ul.ticks { gap: .4mm 5mm }
  .blanks { margin: 0 } .blank { height: 8.8mm }
  .emergency { margin-top: .6mm }
}
"""


def sheet_html(content: SheetContent) -> str:
    """The sheet of one truck as a whole HTML page."""
    blocks = "\n".join(f"<tr><td>{_block(block)}</td></tr>" for block in content.blocks)
    first = day_html(content.day) if content.day else _text(content.intro)
    intro = f"<tr><td>{first}</td></tr>"
    title = f"Run sheet {content.running_head}"
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{_attr(title)}</title>
<style>{STYLE}{DAY_STYLE}{_page_rule(content)}</style>
</head>
<body>
<main>
<table class="frame" role="presentation">
<thead><tr><th><div class="head"><h1>{_text(content.running_head)}</h1></div></th></tr></thead>
<tbody>
{intro}
{blocks}
</tbody>
</table>
</main>
</body>
</html>
"""


def _page_rule(content: SheetContent) -> str:
    """Page x of y with truck, date and plan, in the margin of every printed page."""
    head = _css_string(content.running_head)
    return (
        "@page { margin: 10mm 10mm 13mm; "
        f"@bottom-left {{ content: {head}; font: 11pt sans-serif; }} "
        '@bottom-right { content: "page " counter(page) " of " counter(pages); '
        "font: bold 11pt sans-serif; } }"
    )


def _css_string(text: str) -> str:
    """A CSS string in which nothing typed by a user can end the string or the style element."""
    safe = "".join(c if (c.isalnum() and c.isascii()) or c == " " else f"\\{ord(c):x} " for c in text)
    return f'"{safe}"'


def _block(block: Block) -> str:
    parts = [
        _top(block),
        f'<p class="flag">{_text(block.flag)}</p>' if block.flag else "",
        _facts_and_place(block),
        _table(block.table) if block.table else "",
        _facts(block.after, "facts wide") if block.after else "",
        _ticks(block.checks, "ticks checks"),
        _blanks(block.blanks),
        _skip(block.skip),
        f'<div class="emergency">{_text(block.emergency)}</div>' if block.emergency else "",
    ]
    flows = " flows" if block.flows else ""
    body = "\n".join(part for part in parts if part)
    return f'<section class="block {block.kind}{flows}">\n{body}\n</section>'


def _top(block: Block) -> str:
    badge = f'<div class="badge">{_text(block.badge)}</div>' if block.badge else ""
    mark = f'<div class="mark{" long" if len(block.mark) > 3 else ""}">{_text(block.mark)}{badge}</div>'
    subtitle = f"<div>{_text(block.subtitle)}</div>" if block.subtitle else ""
    name = f'<div class="name"><h2>{_text(block.title)}</h2>{subtitle}</div>'
    times = "".join(f"<dt>{_text(f.label)}</dt><dd>{_text(f.text)}</dd>" for f in block.times)
    return f'<div class="top">{mark}{name}{f"<dl class=times>{times}</dl>" if times else ""}</div>'


def _facts_and_place(block: Block) -> str:
    if block.where is None:
        return _facts(block.facts, "facts")
    return (
        f'<div class="side">{_facts(block.facts, "facts", _place(block.where))}'
        f'<a class="qr" href="{_attr(block.where.geo)}" aria-label="open the place in a map">'
        f"{qr_svg(block.where.geo)}</a></div>"
    )


def _place(where: Where) -> str:
    geo = f'<a class="geo" href="{_attr(where.geo)}"><br>{_text(where.geo)}</a>'
    return f"<dt>Place</dt><dd>{_text(where.decimal)} = {_text(where.dms)}{geo}</dd>"


def _facts(facts: Iterable[Fact], css: str, more: str = "") -> str:
    rows = []
    wrap = ("<div>", "</div>") if css == "facts" and not more else ("", "")
    for fact in facts:
        strong = ' class="strong"' if fact.strong else ""
        pair = f"<dt{strong}>{_text(fact.label)}</dt><dd{strong}>{_text(fact.text)}</dd>"
        rows.append(pair if not wrap[0] else wrap[0] + pair + wrap[1])
    body = "".join(rows) + more
    return f'<dl class="{css}">{body}</dl>' if body else ""


def _table(table: Table) -> str:
    head = "".join(
        f'<th scope="col"{_css(i in table.right, False)}>{_text(text)}</th>'
        for i, text in enumerate(table.head)
    )
    body = "".join(_table_row(table, row) for row in table.rows)
    foot = f"<tfoot>{_table_row(table, table.total)}</tfoot>" if table.total else ""
    return f'<table class="feed"><thead><tr>{head}</tr></thead><tbody>{body}</tbody>{foot}</table>'


def _table_row(table: Table, row: Iterable[str]) -> str:
    """A row whose cells know their column, so that a phone can stack them."""
    cells = ""
    for i, (label, text) in enumerate(zip(table.head, row, strict=True)):
        named = f' data-label="{_attr(label)}"' if i and text else ""
        cells += f"<td{_css(i in table.right, i in table.strong)}{named}>{_text(text) if text else ''}</td>"
    return f"<tr>{cells}</tr>"


def _css(number: bool, strong: bool) -> str:
    names = " ".join(name for name, on in (("n", number), ("strong", strong)) if on)
    return f' class="{names}"' if names else ""


def _ticks(texts: Iterable[str], css: str) -> str:
    items = "".join(f"<li>{_text(text)}</li>" for text in texts)
    return f'<ul class="{css}">{items}</ul>' if items else ""


def _skip(reasons: tuple[str, ...]) -> str:
    if not reasons:
        return ""
    items = "".join(f"<li>{_text(reason)}</li>" for reason in reasons)
    return f'<ul class="ticks"><li class="skip">SKIPPED, because:</li>{items}</ul>'


def _blanks(blanks: Iterable[Blank]) -> str:
    cells = "".join(
        f'<div class="blank" style="width:{blank.share * 100:.0f}%">{_text(blank.label)}<i></i>'
        f"<span>{_text(blank.unit)}</span></div>"
        for blank in blanks
    )
    return f'<div class="blanks">{cells}</div>' if cells else ""


def _text(text: str) -> str:
    """Text that stands apart from its neighbours in direction, and can never become markup."""
    return f"<bdi>{escape(text)}</bdi>"


def _attr(text: str) -> str:
    return escape(text, quote=True)
