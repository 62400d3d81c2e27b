"""The run sheet as a page: same words as the PDF, nothing runs, nothing is fetched."""

from __future__ import annotations

import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from routing.reports.printing.run_sheet import run_sheet_html, sheet_content
from tests.support.builders import big_plan, small_case
from tests.support.odd import ODD_NAMES, odd_case

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
PICTURES = Path(__file__).parents[2] / "pictures"


class Page(HTMLParser):
    """Tags, attributes and the text a reader sees."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.words: list[str] = []
        self._hidden = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        self._hidden = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._hidden = False

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.words.append(data)

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", "".join(f"{word} " for word in self.words))


def test_sheet_and_pdf_content_are_one_structure_and_all_of_it_is_on_the_page() -> None:
    case = small_case()
    for route, html in zip(case.plan.routes, run_sheet_html(case.operation, case.plan).values(), strict=True):
        text = Page(html).text
        content = sheet_content(case.operation, case.plan, route)
        for block in content.blocks:
            facts = [f.text for f in (*block.facts, *block.after, *block.times)]
            cells = [cell for row in (block.table.rows if block.table else ()) for cell in row]
            wanted = [block.mark, block.title, block.flag, block.emergency, *facts, *cells, *block.checks]
            for words in (*wanted, *block.skip, *(blank.label for blank in block.blanks)):
                assert re.sub(r"\s+", " ", words) in text, words


def test_odd_names_appear_as_they_are_and_run_nothing() -> None:
    case = odd_case()
    for html in run_sheet_html(case.operation, case.plan).values():
        page = Page(html)
        assert not {"script", "img", "iframe", "object"} & set(page.tags)
        assert not [name for name, _ in page.attributes if name.startswith("on")]
        assert html.count("</style>") == 1
        assert "\x00" not in html
        html.encode("utf-8")
    text = Page(run_sheet_html(case.operation, case.plan)["run_sheet_BIG.html"]).text
    for yard_id in ("Y1", "Y2", "Y3", "Y5"):
        assert re.sub(r"\s+", " ", ODD_NAMES[yard_id]) in text


def test_page_names_no_address_and_forbids_every_request() -> None:
    case = small_case()
    for html in run_sheet_html(case.operation, case.plan).values():
        addresses = set(re.findall(r"https?://[^\s\"'<>]+", html))
        assert addresses <= {"http://www.w3.org/2000/svg"}
        assert "default-src 'none'" in html
        page = Page(html)
        assert all(v.startswith("geo:") for name, v in page.attributes if name in ("href", "src"))


def test_truck_name_cannot_leave_the_style_sheet() -> None:
    case = small_case()
    from dataclasses import replace

    route = replace(case.plan.routes[0], truck_id='"; } </style><script>x()</script> \\')
    plan = replace(case.plan, routes=(route,))
    (html,) = run_sheet_html(case.operation, plan).values()
    assert html.count("</style>") == 1
    assert "script" not in Page(html).tags
    rule = re.search(r"@bottom-left \{ content: \"([^\"]*)\"", html)
    assert rule is not None
    assert set(rule.group(1)) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 \\")


def test_every_yard_has_a_code_to_scan() -> None:
    case = small_case()
    html = run_sheet_html(case.operation, case.plan)["run_sheet_BIG.html"]
    assert html.count("<svg") == 9  # five yards, load-out, refill, return and the sketch; the break has none


def test_three_hundred_yards_make_a_sheet_for_every_truck() -> None:
    case = big_plan(300)
    sheets = run_sheet_html(case.operation, case.plan)
    assert len(sheets) == len(case.plan.routes) == 50
    text = "".join(sheets.values())
    assert all(yard.name in text for yard in case.operation.yards.values())


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: the printed page is not looked at")
def test_browser_prints_page_x_of_y_and_keeps_every_stop_whole(tmp_path: Path) -> None:
    from pypdf import PdfReader

    case = small_case()
    source, target = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    source.write_text(run_sheet_html(case.operation, case.plan)["run_sheet_BIG.html"], encoding="utf-8")
    chromium = str(CHROMIUM)
    command = [chromium, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    command += [f"--user-data-dir={tmp_path / 'profile'}", "--no-pdf-header-footer"]
    subprocess.run(
        [*command, f"--print-to-pdf={target}", source.as_uri()], check=True, capture_output=True, timeout=120
    )
    pages = [page.extract_text() for page in PdfReader(target).pages]
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert case.plan.plan_id in page
    for stop in case.plan.routes[0].stops:
        if stop.kind == "yard":
            page = next(page for page in pages if f"yard id {stop.place_id}" in page)
            assert f"{stop.lat:.6f} north" in page
    PICTURES.mkdir(exist_ok=True)
    shutil.copy(target, PICTURES / "run_sheet_browser.pdf")
