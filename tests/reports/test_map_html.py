"""The map's file itself: what stands in it, without opening it."""

from __future__ import annotations

import hashlib
import json
import re
from base64 import b64encode
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from routing.domain.plan import AuditRecord
from routing.reports.map.html import map_html
from tests.support.builders import Case, big_plan, small_case
from tests.support.hostile import NAMES, NOTE, hostile_case

NAMESPACES = ("http://www.w3.org/2000/svg", "http://www.w3.org/1999/xhtml", "http://www.w3.org/1999/xlink")


def page_of(case: Case) -> str:
    return map_html(case.operation, case.plan, case.travel)


@pytest.fixture(scope="module")
def small_page() -> str:
    return page_of(small_case())


@pytest.fixture(scope="module")
def hostile_page() -> str:
    return page_of(hostile_case())


class Texts(HTMLParser):
    """The text of a page by the element it stands in, and every attribute that could load or run."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.loads: list[tuple[str, str]] = []
        self.tags: list[str] = []
        self._raw = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._raw = tag in ("script", "style")
        self.loads += [(k, v or "") for k, v in attrs if k in ("src", "href", "srcset") or k.startswith("on")]

    def handle_endtag(self, tag: str) -> None:
        self._raw = False

    def handle_data(self, data: str) -> None:
        if not self._raw:
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join(self.texts)


def test_no_address_is_left_in_the_file(small_page):
    for namespace in NAMESPACES:
        small_page = small_page.replace(namespace, "")
    assert re.findall(r"\bhttps?:|\bwss?:|[\"'(=]\s*//\w|sourceMappingURL|url\((?!#)", small_page) == []


def test_nothing_in_the_page_loads_or_runs_by_attribute(hostile_page):
    assert [load for load in Texts(hostile_page).loads if not load[1].startswith("#")] == []


def test_policy_lets_only_the_scripts_of_the_file_run(hostile_page):
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', hostile_page)[1].replace("&#39;", "'")
    scripts = re.findall(r"<script>(.*?)</script>", hostile_page, re.DOTALL)
    digests = {f"'sha256-{b64encode(hashlib.sha256(s.encode()).digest()).decode()}'" for s in scripts}
    assert policy.startswith("default-src 'none'")
    assert set(policy.partition("script-src ")[2].split()) == digests
    assert len(digests) == 2


def test_leaflet_comes_with_its_licence(small_page):
    assert "Redistribution and use in source and binary forms" in small_page
    assert "Copyright (c) 2010-2023, Volodymyr Agafonkin" in small_page


def test_names_appear_as_they_are_and_add_no_element(hostile_page, small_page):
    hostile, small = Texts(hostile_page), Texts(small_page)
    for name in NAMES.values():
        assert any(name in text for text in hostile.texts), name
    assert any(NOTE in text for text in hostile.texts)
    assert not set(hostile.tags) - set(small.tags)
    assert hostile.tags.count("script") == small.tags.count("script")


def test_data_of_the_map_cannot_close_its_script(hostile_page):
    data = re.search(r'id="day-data">(.*?)</script>', hostile_page, re.DOTALL)[1]
    assert not re.search(r"[<>&\u2028\u2029]", data)
    names = [stop["name"] for truck in json.loads(data)["trucks"] for stop in truck["stops"]]
    assert NAMES["Y1"] in names
    assert all(len(name) <= 40 and "\n" not in name for name in names)


@pytest.mark.parametrize("make", [small_case, hostile_case])
def test_every_stop_reason_and_caution_stands_in_the_text(make):
    case = make()
    text = Texts(page_of(case)).text
    for left in case.plan.unserved:
        assert left.reason in text
        assert left.remedy in text
    for warning in case.plan.warnings:
        assert warning.text in text
    assert case.travel.provenance.note in text
    assert case.plan.plan_id in text


def test_panel_tells_times_pour_and_what_is_left(small_page):
    text = re.sub(r"\s+", " ", Texts(small_page).text)
    assert "arrive 07:36, wait 39 min, begin 08:15, leave 08:55" in text
    assert "Pour 79.3 gal 2:1 sugar from tank B1: 40 colonies, all, 1.98 gal frame feeder" in text
    assert "On leaving: tank B1 68.7 gal; tank B2 118.9 gal; pails 20 full, 0 empty; " in text
    assert "of 19,500 lb" in text
    assert "Give 20 full pails" in text
    assert "open 08:15-12:00, be out by 12:00. code 0000" in text


def test_metric_operation_is_told_in_litres_and_kilograms():
    text = Texts(page_of(small_case("metric"))).text
    assert "Pour 300.0 L 2:1 sugar from tank B1" in text
    assert " kg of 8,845 kg" in text
    assert " gal" not in text


def test_status_is_said_in_words(hostile_page):
    text = Texts(hostile_page).text
    for word in ("QUARANTINE", "UNDER WATCH", "STARVING", "FED IN PART"):
        assert word in text


def test_starving_yard_left_unfed_is_the_first_caution(hostile_page):
    first = re.search(r'<li class="loud">(.*?)</li>', hostile_page, re.DOTALL)[1]
    assert "Starving and not fed" in first
    assert "hire a lighter one" in first


def test_yard_that_needs_nothing_is_not_counted_as_left_unfed(small_page):
    # Enough stores is nothing to do; supers in the way and a full shift leave work undone.
    assert "Not fed today (2)" in small_page
    assert "Need nothing today (1)" in small_page


def test_plan_that_failed_its_check_says_so_on_top():
    case = small_case()
    plan = replace(case.plan, audit=AuditRecord(False, ()))
    alarm = re.search(r'class="alarm".*?</div>', page_of(case._replace(plan=plan)), re.DOTALL)[0]
    assert "has not passed its check" in alarm


def test_measured_travel_is_not_called_estimated():
    case = small_case()
    provenance = replace(case.travel.provenance, estimated=False)
    page = page_of(case._replace(travel=replace(case.travel, provenance=provenance)))
    assert "are estimated: " not in page


def test_same_plan_gives_the_same_file():
    assert page_of(small_case()) == page_of(small_case())


def test_plan_without_routes_still_draws():
    case = small_case()
    page = page_of(case._replace(plan=replace(case.plan, routes=())))
    assert "No truck drives today." in page
    assert "Not fed today (2)" in page


def test_yard_that_the_operation_does_not_know_is_told_by_its_id():
    case = small_case()
    lost = replace(case.plan.unserved[0], yard_id="GONE")
    text = Texts(page_of(case._replace(plan=replace(case.plan, unserved=(lost,))))).text
    assert "GONE" in text


def test_forty_yards_stay_under_a_megabyte_and_a_half():
    assert len(page_of(big_plan(40)).encode()) < 1_500_000


def test_page_names_its_language_title_and_landmarks(small_page):
    tags = Texts(small_page).tags
    assert '<html lang="en">' in small_page
    assert "<title>Tall Grass Apiaries, feeding day Tue 16 Sep 2025: map</title>" in small_page
    assert {"header", "main", "h1", "footer"} <= set(tags)
    assert "user-scalable" not in small_page
