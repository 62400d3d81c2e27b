"""The printed run sheet: complete, counted, never split."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from pypdf import PdfReader

from routing.domain.plan import Unserved
from routing.reports.printing.pdf import HEAD_MM, MARGIN, paginate
from routing.reports.printing.pdf_canvas import PAPER_MM, Canvas, in_reading_order
from routing.reports.printing.run_sheet import run_sheet_pdf, sheet_content
from routing.reports.words.truck_style import style_of
from tests.support.builders import DAY, Case, big_plan, small_case
from tests.support.odd import fullest_case, odd_case

PAPERS = sorted(PAPER_MM)


@cache
def cases(name: str) -> Case:
    return {"small": small_case, "odd": odd_case, "fullest": fullest_case, "big": lambda: big_plan(24)}[
        name
    ]()


def pages_of(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def squeezed(text: str) -> str:
    """Without blanks and line breaks: lines are wrapped where the paper ends."""
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_have_the_size_of_the_paper(paper: str) -> None:
    case = cases("small")
    for data in run_sheet_pdf(case.operation, case.plan, paper=paper).values():
        box = PdfReader(io.BytesIO(data)).pages[0].mediabox
        width, height = PAPER_MM[paper]
        assert float(box.width) * 25.4 / 72 == pytest.approx(width, abs=0.1)
        assert float(box.height) * 25.4 / 72 == pytest.approx(height, abs=0.1)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["small", "odd", "big"])
def test_every_page_tells_truck_date_plan_and_page_x_of_y(name: str, paper: str) -> None:
    case = cases(name)
    sheets = run_sheet_pdf(case.operation, case.plan, paper=paper)
    assert len(sheets) == len(case.plan.routes)
    for route, data in zip(case.plan.routes, sheets.values(), strict=True):
        pages = pages_of(data)
        for number, page in enumerate(pages, start=1):
            assert f"page {number} of {len(pages)}" in page
            letter = style_of(case.operation, route.truck_id).letter
            head = (
                f"TRUCK {route.truck_id} ({letter} on the map) · Tue 16 Sep 2025 · plan {case.plan.plan_id}"
            )
            assert squeezed(head) in squeezed(page)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["small", "odd", "fullest", "big"])
def test_no_stop_is_split_across_pages(name: str, paper: str) -> None:
    case = cases(name)
    for route in case.plan.routes:
        content = sheet_content(case.operation, case.plan, route)
        canvas = Canvas(paper, "", DAY)
        pages = paginate(canvas, content)
        placed = [part for page in pages for part in page]
        for block in content.blocks:
            parts = [part for part in placed if part.block is block]
            if not block.flows:
                assert len(parts) == 1, block.title
        for page in pages:
            for part, below in pairwise(page):
                assert part.top + part.height < below.top
            assert page[0].top >= MARGIN + HEAD_MM
            assert page[-1].top + page[-1].height <= canvas.height_mm - MARGIN + 0.01


def test_a_stop_and_its_emergency_line_stand_on_the_same_page() -> None:
    case = cases("small")
    route = case.plan.routes[0]
    pages = pages_of(run_sheet_pdf(case.operation, case.plan)["run_sheet_BIG.pdf"])
    for stop in route.stops:
        if stop.kind == "yard":
            name = case.operation.yards[stop.place_id].name
            page = next(page for page in pages if f"yard id {stop.place_id}" in page)
            assert name in page
            assert squeezed(f"{stop.lat:.6f} north, {-stop.lon:.6f} west") in squeezed(page)


@pytest.mark.parametrize("paper", PAPERS)
def test_every_stop_reason_and_caution_is_in_the_text(paper: str) -> None:
    case = cases("small")
    sheets = run_sheet_pdf(case.operation, case.plan, paper=paper)
    for route, data in zip(case.plan.routes, sheets.values(), strict=True):
        text = squeezed("".join(pages_of(data))).lower()
        content = sheet_content(case.operation, case.plan, route)
        wanted = [block.title for block in content.blocks]
        wanted += [f.text for block in content.blocks for f in (*block.facts, *block.after, *block.times)]
        wanted += [row_text for b in content.blocks if b.table for row in b.table.rows for row_text in row]
        wanted += [w for b in content.blocks for w in (*b.checks, *b.skip, b.emergency, b.flag)]
        wanted += [left.reason for left in case.plan.unserved] + [left.remedy for left in case.plan.unserved]
        for words in wanted:
            assert squeezed(words).lower() in text, words


def test_last_page_carries_totals_and_cautions() -> None:
    case = cases("small")
    last = pages_of(run_sheet_pdf(case.operation, case.plan)["run_sheet_BIG.pdf"])[-1]
    for words in ("Totals and cautions", "318.3 gal", "Stings", "Hot syrup", "hours-of-service"):
        assert words in last


def test_nothing_is_smaller_than_nine_points() -> None:
    case = cases("odd")
    sizes: set[float] = set()
    for data in run_sheet_pdf(case.operation, case.plan).values():
        for page in PdfReader(io.BytesIO(data)).pages:
            content = page.get_contents()
            assert content is not None
            sizes |= {float(size) for size in re.findall(rb"/F\d+ ([\d.]+) Tf", content.get_data())}
    assert sizes
    assert min(sizes) >= 9.0


def test_place_is_a_geo_link() -> None:
    case = cases("small")
    reader = PdfReader(io.BytesIO(run_sheet_pdf(case.operation, case.plan)["run_sheet_SMALL.pdf"]))
    links = {
        annotation.get_object()["/A"]["/URI"]
        for page in reader.pages
        for annotation in page.get("/Annots") or ()
    }
    assert "geo:44.300000,-100.600000" in links


def test_same_plan_gives_the_same_bytes() -> None:
    case = cases("small")
    assert run_sheet_pdf(case.operation, case.plan) == run_sheet_pdf(case.operation, case.plan)


def test_odd_names_are_printed_as_far_as_the_font_goes() -> None:
    case = cases("odd")
    text = squeezed(
        "".join(p for d in run_sheet_pdf(case.operation, case.plan).values() for p in pages_of(d))
    )
    assert squeezed("<script>alert('bees')</script>") in text
    assert "[honeybee]" in text
    assert "W" * 60 in text
    assert squeezed("second line, with comma") in text
    assert squeezed("=HYPERLINK(1)") in text


def test_hebrew_stands_in_reading_order() -> None:
    assert in_reading_order("yard אבג") == "yard גבא"
    assert in_reading_order("plain") == "plain"


def test_letters_the_font_lacks_become_boxes_and_never_fail() -> None:
    canvas = Canvas("a4", "", DAY)
    assert canvas.drawable("蜂") == "□"
    assert canvas.drawable("\U0001f41d") == "[honeybee]"
    assert canvas.drawable("A\u200d\ufe0fÅŁжω") == "AÅŁжω"


def test_wrapped_lines_keep_to_the_width_and_lose_nothing() -> None:
    canvas = Canvas("a4", "", DAY)
    text = "short words then " + "x" * 300 + " and an end"
    for width in (20.0, 55.5, 180.0):
        lines = canvas.wrap(text, width, 11)
        assert all(canvas.text_mm(line, 11) <= width for line in lines)
        assert squeezed("".join(lines)) == squeezed(text)


def test_a_word_is_not_broken_where_the_line_can_be() -> None:
    canvas = Canvas("a4", "", DAY)
    assert (
        canvas.wrap("10,000.0 gal of syrup", canvas.text_mm("10,000.0 gal", 11) + 1, 11)[0] == "10,000.0 gal"
    )


def test_plan_without_a_route_still_prints_its_reasons() -> None:
    case = cases("small")
    plan = replace(case.plan, routes=())
    sheets = run_sheet_pdf(case.operation, plan)
    text = squeezed("".join(pages_of(sheets["run_sheet_no_truck.pdf"])))
    assert "NOTRUCKGOESOUT" in text
    for left in plan.unserved:
        assert squeezed(left.reason).lower() in text.lower()


def test_route_without_a_served_yard_still_prints() -> None:
    case = cases("small")
    route = case.plan.routes[0]
    stops = tuple(stop for stop in route.stops if stop.kind in ("start", "end"))
    plan = replace(case.plan, routes=(replace(route, stops=stops),))
    pages = pages_of(run_sheet_pdf(case.operation, plan)["run_sheet_BIG.pdf"])
    assert "0 yard stops" in pages[0]


def test_two_hundred_unserved_yards_flow_over_pages_and_totals_stay_last() -> None:
    case = cases("small")
    left = tuple(
        Unserved(f"Y{i}", "shift_full", f"reason number {i}", "start earlier", 3.0, 10, 50.0)
        for i in range(200)
    )
    pages = pages_of(run_sheet_pdf(case.operation, replace(case.plan, unserved=left))["run_sheet_SMALL.pdf"])
    text = squeezed("".join(pages))
    assert all(f"eason number {i}.".replace(" ", "") in text for i in range(200))
    assert "Totals and cautions" in pages[-1]
    assert "(continued)" in pages[-2]


def test_an_unknown_paper_is_refused() -> None:
    case = cases("small")
    with pytest.raises(ValueError, match="paper is letter or a4"):
        run_sheet_pdf(case.operation, case.plan, paper="a5")


def test_three_hundred_yards_are_printed() -> None:
    case = big_plan(300)
    sheets = run_sheet_pdf(case.operation, case.plan)
    assert sum(len(PdfReader(io.BytesIO(data)).pages) for data in sheets.values()) >= 150
