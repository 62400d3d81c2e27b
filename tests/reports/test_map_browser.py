"""The map as a reader sees it: rendered by a browser that has no network."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from routing.reports.map.html import map_html
from tests.support.browser import ask, axe_findings, needs_axe, needs_browser, printed
from tests.support.builders import Case, big_plan, small_case
from tests.support.chromium import Page, chromium
from tests.support.hostile import hostile_case
from tests.support.map_measures import measured

pytestmark = needs_browser

LONGEST_GAP_PX = 12


def page_of(case: Case) -> str:
    return map_html(case.operation, case.plan, case.travel)


@pytest.fixture(scope="module")
def browser() -> Iterator[Page]:
    with chromium() as page:
        yield page


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("maps")
    cases = {"small": small_case(), "hostile": hostile_case(), "forty": big_plan(40), "many": big_plan(300)}
    for name, case in cases.items():
        (folder / f"{name}.html").write_text(page_of(case), encoding="utf-8")
    return {name: folder / f"{name}.html" for name in cases}


def labels(page: Page) -> list[str]:
    found = page.ask("day_scene.drawn.labels.map(function (l) { return l.text; })")
    return [str(text) for text in found]


def test_map_is_drawn_asks_for_nothing_and_complains_of_nothing(tmp_path: Path) -> None:
    body = "(performance.getEntriesByType('resource').map(function (e) { return e.name; }))"
    seen = ask(page_of(hostile_case()), body, tmp_path)
    assert seen.answer == []
    assert seen.console == []


def test_hostile_names_run_nothing(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["hostile"], 1280, 800)
    assert "owned" not in browser.ask("document.title").replace("document.title='owned'", "")


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1280, 800), (360, 740)])
@pytest.mark.parametrize("name", ["small", "hostile", "forty", "many"])
def test_every_mark_stands_on_its_yard_and_no_label_on_anything(
    browser: Page, files: dict[str, Path], name: str, width: int, height: int
) -> None:
    browser.open(files[name], width, height)
    for zoomed in (0, 1.5, 3):
        if zoomed:
            browser.ask("map_day.setZoom(map_day.getZoom() + 1.5, { animate: false }), 1")
        found = measured(browser)
        # The middle of the map is rounded to half a pixel by the library.
        assert max(found.off_px, default=0) < 1.0
        assert max(found.gap_px, default=0) <= LONGEST_GAP_PX
        assert found.clashes == []
        assert found.wrong == []


def test_a_starving_or_quarantined_yard_keeps_its_ring_where_no_label_fits(
    browser: Page, files: dict[str, Path]
) -> None:
    browser.open(files["hostile"], 360, 740)
    assert measured(browser).flagged_unseen == []


@pytest.mark.parametrize(
    ("width", "height", "share"), [(1920, 1080, 0.7), (1280, 800, 0.7), (360, 740, 0.55)]
)
def test_most_of_the_window_is_map(
    browser: Page, files: dict[str, Path], width: int, height: int, share: float
) -> None:
    for name in ("small", "many"):
        browser.open(files[name], width, height)
        assert measured(browser).share >= share


def test_alarm_is_open_and_leaves_the_map_its_room(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["hostile"], 1280, 800)
    assert "Starving and not fed" in browser.ask("document.querySelector('.alarm').innerText")
    assert measured(browser).share > 0.65


def test_phone_of_360_pixels_scrolls_one_way_only(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["hostile"], 360, 740)
    assert browser.ask("document.documentElement.scrollWidth") <= 360


def test_list_of_300_yards_is_short_while_folded(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["many"], 1280, 800)
    assert browser.ask("document.getElementById('list').scrollHeight") < 10_000


def test_choosing_a_truck_names_its_stops_and_no_other_depot(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["small"], 1280, 800)
    browser.ask("document.querySelectorAll('details.truck[data-truck] > summary')[1].click(), 1")
    shown = labels(browser)
    assert any(text.startswith("1 ") for text in shown)
    assert not any(text.startswith("A") for text in shown)
    depots = browser.ask(
        "day_scene.drawn.marks.filter(function (m) { return m.kind === 'depot'; }).map(m => m.key)"
    )
    assert depots == ["dBASE"]
    browser.press("Escape")
    assert any(text.startswith("A1") for text in labels(browser))


def test_choosing_a_stop_in_the_list_names_it_on_the_map_and_opens_its_card(
    browser: Page, files: dict[str, Path]
) -> None:
    browser.open(files["many"], 1280, 800)
    browser.ask("document.querySelector('details.truck[data-truck=\"3\"] > summary').click(), 1")
    browser.ask("document.querySelectorAll('details.truck[open] details.yard > summary')[2].click(), 1")
    chosen = browser.ask("document.querySelector('.stop.on .name').innerText")
    assert f"3 {chosen}" in labels(browser)
    assert browser.ask("document.querySelector('.stop.on').open")


def test_search_opens_only_the_trucks_that_have_the_yard(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["many"], 1280, 800)
    browser.ask(
        "(function () { var s = document.getElementById('search'), "
        "name = document.querySelectorAll('.stop.yard .name')[40].textContent.trim(); s.value = name;"
        "s.dispatchEvent(new Event('input')); }()), 1"
    )
    trucks = "Array.from(document.querySelectorAll('details.truck[data-truck]'))"
    shown = browser.ask(f"{trucks}.filter(t => !t.hidden).length")
    assert 1 <= shown < browser.ask(f"{trucks}.length")
    assert browser.ask(f"{trucks}.filter(t => !t.hidden).every(t => t.open)")


def ring(page: Page) -> tuple[np.ndarray, list[float]]:
    """What is seen, and where the focus ring lies: left, top, right, bottom."""
    box = page.ask(
        "(function () { var e = document.getElementById('focus-ring'), r = e.getBoundingClientRect();"
        " return e.hidden ? null : [r.left, r.top, r.right, r.bottom]; }())"
    )
    assert box is not None, "no focus ring"
    return np.asarray(Image.open(io.BytesIO(page.picture())).convert("L"), dtype=int), box


@pytest.mark.parametrize("dark", [False, True])
def test_the_map_is_walked_by_keyboard_alone_and_the_ring_is_seen(
    browser: Page, files: dict[str, Path], dark: bool
) -> None:
    browser.open(files["small"], 1280, 800, dark=dark)
    for _ in range(30):
        browser.press("Tab")
        if browser.ask("document.activeElement.classList.contains('leaflet-container')"):
            break
    heard = []
    for _ in range(4):
        seen, (left, top, right, bottom) = ring(browser)
        middle = (int((top + bottom) / 2), int((left + right) / 2))
        # On its way out from the dot the eye meets the ring: 4 px that stand out from what is beside them.
        out = seen[middle[0], int(right) - 8 : int(right) + 4]
        assert out.max() - out.min() > 150
        heard.append(browser.ask("document.getElementById('said').textContent"))
        browser.press("ArrowRight")
    assert len(set(heard)) == 4
    assert heard[0].startswith("A1")
    browser.press("ArrowLeft")
    browser.press("Enter")
    assert browser.ask("document.activeElement.closest('.stop').open")
    browser.press("Escape")
    assert browser.ask("document.querySelectorAll('.stop.on').length") == 0


def test_first_tab_offers_to_skip_the_map(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["small"], 1280, 800)
    browser.press("Tab")
    assert browser.ask("document.activeElement.className") == "skip"
    assert browser.ask("document.activeElement.getBoundingClientRect().top") >= 0
    browser.press("Enter")
    browser.press("Tab")
    assert browser.ask("Boolean(document.activeElement.closest('#list'))")


def test_dark_scheme_is_dark_and_the_switch_turns_it(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["small"], 1280, 800, dark=True)
    dark = np.asarray(Image.open(io.BytesIO(browser.picture())).convert("L")).mean()
    browser.ask("document.getElementById('theme').click(), 1")
    light = np.asarray(Image.open(io.BytesIO(browser.picture())).convert("L")).mean()
    assert dark < 60
    assert light > 200


def test_zoomed_to_200_percent_nothing_is_cut_off(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["small"], 640, 400, scale=2)
    assert browser.ask("document.documentElement.scrollWidth") <= 640
    assert measured(browser).share > 0.4


def test_plan_without_routes_draws_yards_and_depots(browser: Page, tmp_path: Path) -> None:
    case = small_case()
    file = tmp_path / "none.html"
    file.write_text(page_of(case._replace(plan=replace(case.plan, routes=()))), encoding="utf-8")
    browser.open(file, 1280, 800)
    assert browser.ask("day_scene.drawn.marks.length") == 3


def test_panning_shifts_the_drawing_and_draws_no_new_one(browser: Page, files: dict[str, Path]) -> None:
    browser.open(files["many"], 1280, 800)
    draws = browser.ask(
        "(function () { var n = 0, draw = day_scene.drawRoads; day_scene.drawRoads = function () { n++;"
        " return draw.apply(this, arguments); }; var p = map_day.getPane('mapPane');"
        " for (var i = 0; i < 30; i++) { map_day._rawPanBy(L.point(4, 2)); map_day.fire('move'); }"
        " return n; }())"
    )
    assert draws == 0


def test_printed_map_has_the_map_on_one_page_and_the_table_on_the_next(tmp_path: Path) -> None:
    from pypdf import PdfReader

    pages = PdfReader(printed(page_of(small_case()), "map-print.pdf", tmp_path)).pages
    assert len(pages) == 2
    text = pages[1].extract_text()
    for name in ("Gate Corner", "Willow Bend", "Narrow Draw"):
        assert name in text


@needs_axe
@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (360, 740)])
def test_automated_accessibility_check_finds_nothing(tmp_path: Path, width: int, height: int) -> None:
    page = page_of(hostile_case()).replace('<details class="truck"', '<details open class="truck"')
    assert axe_findings(page, tmp_path, width, height) == []
