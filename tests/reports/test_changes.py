"""A re-plan on map, sheet, terminal and files: what changed is seen, and mid-day does not read as morning."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from openpyxl import load_workbook
from rich.console import Console

from routing.domain.fleet import HERE
from routing.domain.operation import Operation
from routing.domain.plan import Fill, Plan, Route
from routing.files.plan.plan_json import dump_plan, load_plan
from routing.log.facts import DepotClosed, Rested, TruckOut, Urgent, YardClosed
from routing.planning.replan.replan import Replanned
from routing.reports.export.exports import geojson, gpx, stops_csv, workbook
from routing.reports.map.html import map_html
from routing.reports.map.rows import Rows
from routing.reports.map.tiles import tile_server
from routing.reports.printing.run_sheet import run_sheet_html, run_sheet_pdf, sheet_content
from routing.reports.sheet.model import Block
from routing.reports.terminal.terminal import plan_summary
from routing.reports.words.changes import (
    NEW_CODES,
    difference_text,
    left_out,
    new_visits,
    of_truck,
    to_crew,
    told_trucks,
)
from routing.reports.words.format import Units, duration
from routing.reports.words.marks import stop_marks
from routing.reports.words.route_day import RouteDay
from routing.reports.words.truck_style import style_of
from tests.support.browser import ask, axe_findings, needs_axe, needs_browser, picture
from tests.support.builders import small_case
from tests.support.day_player import Scene, demo_scene, event, played, replan_here

SIZES = [("replan-map.png", 1600, 1000), ("replan-phone.png", 500, 900)]


@pytest.fixture(scope="module")
def scene() -> Scene:
    return demo_scene()


def noon(scene: Scene) -> datetime:
    return datetime(2026, 9, 28, 12, 5, tzinfo=ZoneInfo(scene.plan.timezone))


@pytest.fixture(scope="module")
def made(scene: Scene) -> Replanned:
    """The demo's day after a call from a yard and a depot that closed early, at five past twelve."""
    now, plan = noon(scene), scene.plan
    events = played(plan, now)
    events += [event(plan, "call", now, Urgent("Y35")), event(plan, "shut", now, DepotClosed("siding"))]
    found = replan_here(scene, now, events, iterations=15)
    assert any(new_visits(found.plan, route) for route in found.plan.routes)
    return found


@pytest.fixture(scope="module")
def alone(scene: Scene) -> Replanned:
    """The heavy truck is out of action."""
    now = noon(scene)
    events = [*played(scene.plan, now), event(scene.plan, "out", now, TruckOut("engine"), "heavy")]
    return replan_here(scene, now, events, iterations=10)


def routes_with_news(plan: Plan) -> list[Route]:
    return [route for route in plan.routes if new_visits(plan, route)]


def boxes(made: Replanned, route: Route) -> list[Block]:
    return list(sheet_content(made.remaining.operation, made.plan, route).blocks)


def terminal(operation: Operation, plan: Plan) -> str:
    console = Console(width=80, file=io.StringIO(), highlight=False)
    plan_summary(operation, plan, console)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_a_sheet_begins_with_the_plan_it_replaces_and_what_to_do_now(made: Replanned) -> None:
    for route in made.plan.routes:
        first = boxes(made, route)[0]
        assert first.kind == "changes"
        assert first.title == f"THIS SHEET REPLACES plan {made.plan.replaces}"
        assert first.facts[0].label == "NOW"
        assert first.facts[0].text.startswith(("GO ON ", "GO NEXT ", "STAY "))


def test_a_yard_that_was_called_in_is_urgent_in_its_box_in_the_table_and_on_the_map(made: Replanned) -> None:
    (warning,) = [w for w in made.plan.warnings if w.code == "urgent"]
    assert (warning.place_id, warning.text) == ("Y35", "URGENT: called in at 12:05")
    assert load_plan(dump_plan(made.plan)).warnings == made.plan.warnings
    here = [r for r in made.plan.routes if any(s.place_id == "Y35" for s in r.stops)]
    for route in here:
        stop = next(s for s in route.stops if s.place_id == "Y35")
        flags = [b.flag for b in boxes(made, route) if b.kind == "yard" and "yard id Y35" in b.subtitle]
        assert [flag.splitlines()[0] for flag in flags] == [warning.text]
        rows = Rows(RouteDay(made.remaining.operation, made.plan, route), 0).all()
        row = next(row for row in rows if row.place_id == stop.place_id)
        assert "URGENT" in [word.text for word in row.words]
        assert warning.text in row.notes
    assert here
    assert terminal(made.remaining.operation, made.plan).count("URGENT") >= 2


def test_a_sheet_tells_its_own_crew_all_its_changes_and_no_others(made: Replanned) -> None:
    for route in made.plan.routes:
        told = {fact.text for fact in boxes(made, route)[0].facts if fact.label != "COST"}
        own = {to_crew(c) for c in made.plan.changes if c.truck_id == route.truck_id and c.code != "dropped"}
        left = {
            f"{names}: {reason}"
            for names, reason in left_out(made.remaining.operation, made.plan, route.truck_id)
        }
        assert (
            told - {fact.text for fact in boxes(made, route)[0].facts if fact.label == "COST"} == own | left
        )


def test_a_sheet_says_what_the_change_takes_of_its_crew_and_of_the_day(made: Replanned) -> None:
    assert made.plan.difference is not None
    units = Units(made.plan.units, made.plan.currency)
    for route in made.plan.routes:
        costs = [fact.text for fact in boxes(made, route)[0].facts if fact.label == "COST"]
        own = made.plan.difference.trucks[route.truck_id]
        assert costs[0].startswith("This truck, against what it had left before: ")
        assert f"{duration(abs(own.work_s))} {'more' if own.work_s > 0 else 'less'} work" in costs[0]
        assert f"{units.volume(abs(own.fuel_l))} {'more' if own.fuel_l > 0 else 'less'} fuel" in costs[0]
        assert f"{units.money(abs(own.cost))} {'more' if own.cost > 0 else 'less'} in wages" in costs[0]
        assert costs[1].startswith("All trucks together: ")
        (page, *_) = [
            text
            for name, text in run_sheet_html(made.remaining.operation, made.plan).items()
            if route.truck_id in name
        ]
        assert costs[0].partition(": ")[2] in page


def test_a_truck_that_changes_alone_is_told_its_cost_once(alone: Replanned) -> None:
    plan = alone.plan
    assert plan.difference is not None
    light = {"light": plan.difference.trucks["light"]}
    alone_costs = replace(plan, difference=replace(plan.difference, trucks=light))
    facts = sheet_content(alone.remaining.operation, alone_costs, plan.routes[0]).blocks[0].facts
    assert len([fact for fact in facts if fact.label == "COST"]) == 1


def test_a_plan_whose_costs_by_truck_are_not_known_tells_those_of_the_day(made: Replanned) -> None:
    assert made.plan.difference is not None
    old = replace(made.plan, difference=replace(made.plan.difference, trucks={}))
    facts = sheet_content(made.remaining.operation, old, old.routes[0]).blocks[0].facts
    assert [fact.text for fact in facts if fact.label == "COST"] == [difference_text(old)]


def test_files_say_what_a_re_plan_takes_more_or_less(made: Replanned) -> None:
    operation, plan = made.remaining.operation, made.plan
    assert plan.difference is not None
    lines = [f for f in geojson(operation, plan)["features"] if f["properties"]["feature"] == "route"]
    for line in lines:
        own = plan.difference.trucks[line["properties"]["truck_id"]]
        assert line["properties"]["change_work_s"] == own.work_s
        assert line["properties"]["change_fuel_l"] == own.fuel_l
    assert difference_text(plan) in gpx(operation, plan)
    sheet = load_workbook(io.BytesIO(workbook(operation, plan)))["summary"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    title = next(i for i, row in enumerate(rows) if str(row[0]).startswith("More (below zero: less)"))
    head, *trucks, day = rows[title + 1 : title + 3 + len(plan.difference.trucks)]
    assert [row[0] for row in trucks] == list(plan.difference.trucks)
    assert day[head.index("work_h")] == pytest.approx(plan.difference.work_s / 3600, abs=0.01)
    assert load_plan(dump_plan(plan)).difference == plan.difference


def test_new_stops_are_marked_new_and_the_others_are_not(made: Replanned) -> None:
    for route in made.plan.routes:
        content = sheet_content(made.remaining.operation, made.plan, route)
        marked = {block.mark for block in content.blocks if block.badge == "NEW"}
        news = {c.place_id for c in made.plan.changes if c.truck_id == route.truck_id and c.code in NEW_CODES}
        yards = [stop.place_id for stop in route.stops if stop.kind == "yard"]
        assert marked == {str(yards.index(place) + 1) for place in news if place in yards}
        labels = {fact.label for fact in content.blocks[0].facts}
        assert {f"NEW STOP {mark}" for mark in marked} <= labels


@pytest.mark.parametrize("minutes", [30, 45, 60, 75])
def test_now_and_there_by_name_the_same_time_also_where_a_break_comes_first(
    scene: Scene, minutes: int
) -> None:
    start = max(route.start for route in scene.plan.routes)
    now = start + timedelta(seconds=scene.operation.shift.break_after_s, minutes=minutes)
    unrested = [e for e in played(scene.plan, now) if not isinstance(e.fact, Rested)]
    made = replan_here(scene, now, unrested, iterations=3)
    seen = set()
    for route in made.plan.routes:
        changes, begin, rest = boxes(made, route)[:3]
        assert rest.kind == "break"
        told, here = changes.facts[0].text, begin.times[0]
        seen.add(here.label)
        if here.label == "THERE BY":
            assert f"there by {here.text}, and take your break there first" in told
            assert rest.times[0].text == here.text
            after = boxes(made, route)[3].times[0]
            assert (after.label, after.text) == ("GO ON AT", rest.times[-1].text)
        else:
            assert told.startswith("TAKE YOUR BREAK, then ")
    assert seen <= {"THERE BY", "FROM"}


def test_a_yard_that_closed_while_its_truck_drives_there_is_passed_by_way_of(scene: Scene) -> None:
    route = next(r for r in scene.plan.routes if r.truck_id == "heavy")
    stop = next(s for s in route.stops if s.kind == "yard" and s.arrive > noon(scene) and s.leg.drive_s > 240)
    now = stop.arrive - timedelta(minutes=3)
    shut = event(scene.plan, "shut", now, YardClosed(stop.place_id))
    made = replan_here(scene, now, [*played(scene.plan, now), shut], iterations=5)
    changes, begin = boxes(made, next(r for r in made.plan.routes if r.truck_id == "heavy"))[:2]
    name = scene.operation.yards[stop.place_id].name
    assert f"by way of {name}" in changes.facts[0].text
    assert begin.title == f"GO ON BY WAY OF {name}"
    assert begin.subtitle == "you are on your way there, but it is no stop any more"


def test_an_overdue_break_and_silence_stand_on_the_first_page_once_and_in_the_terminal(scene: Scene) -> None:
    breaks = [s.begin for r in scene.plan.routes for s in r.stops if s.kind == "break"]
    now = max(breaks) + timedelta(hours=1)
    quiet = next(r for r in scene.plan.routes if r.truck_id == "light").stops[1]
    heard = [e for e in played(scene.plan, now) if not isinstance(e.fact, Rested)]
    heard = [e for e in heard if e.truck_id != "light" or e.at <= quiet.leave]
    made = replan_here(scene, now, heard, iterations=3)
    shown = " ".join(terminal(made.remaining.operation, made.plan).split())
    own = {"break_overdue": ("heavy", "light"), "silent": ("light",)}
    for code, trucks in own.items():
        found = {w.truck_id: w.text for w in made.plan.warnings if w.code == code}
        assert tuple(found) == trucks
        assert all(shown.count(" ".join(text.split())) == 1 for text in found.values())
        assert all(" ".join(text.split()) in shown.partition("What changed")[0] for text in found.values())
    for route in made.plan.routes:
        blocks = boxes(made, route)
        for w in made.plan.warnings:
            if w.code in own:
                said = [b.kind for b in blocks for f in b.facts if f.text == w.to_crew]
                assert said == (["changes"] if w.truck_id == route.truck_id else [])


def test_mid_day_does_not_read_like_a_morning(made: Replanned) -> None:
    for route in made.plan.routes:
        begin = boxes(made, route)[1]
        assert begin.kind == "goon"
        place = made.remaining.operation.depots[route.stops[0].place_id].name
        assert begin.title.startswith(("GO ON FROM ", "GO ON TO ", "GO ON BY WAY OF "))
        assert place in begin.title
        words = " ".join((begin.title, begin.subtitle, *begin.checks, *(f.text for f in begin.facts)))
        assert "orning" not in words
        assert "suits" not in words


def test_a_crew_that_loads_where_it_goes_on_is_told_what_to_take(made: Replanned) -> None:
    route = made.plan.routes[0]
    tank_id = next(iter(route.stops[0].after.tanks))
    first = replace(route.stops[0], fill=(Fill("2to1", 100.0, tank_id),))
    loads = replace(route, stops=(first, *route.stops[1:]))
    title = boxes(made, loads)[1].title
    assert title.startswith("GO ON ")
    assert title.endswith(": REFILL, TAKE 26.4 gal 2:1 sugar")


def test_a_crew_in_mid_day_reads_what_is_in_its_tanks_now(made: Replanned) -> None:
    operation = made.remaining.operation
    for route in made.plan.routes:
        begin = boxes(made, route)[1]
        assert begin.table is not None
        truck = operation.trucks[route.truck_id]
        rows = {row[0]: row for row in begin.table.rows}
        at = begin.table.head.index("IN IT NOW" if "IN IT NOW" in begin.table.head else "In it now")
        for tank in truck.tanks:
            gallons = f"{tank.level_l / 3.785411784:,.1f} gal"
            assert rows[tank.tank_id][at] in (gallons, "empty")


def test_empties_aboard_come_off_at_a_base_and_are_counted(scene: Scene) -> None:
    found = [r for r in scene.plan.routes for s in r.stops if s.kind == "refill" and s.place_id == "home"]
    if not found:
        pytest.skip("no truck refills at the base on this day")
    route = found[0]
    seq = next(s.seq for s in route.stops if s.kind == "refill" and s.place_id == "home")
    empties = route.stops[seq - 1].after.pails_empty
    if not empties:
        pytest.skip("no empties aboard on the way to the base")
    now = route.stops[seq - 1].leave + timedelta(minutes=1)
    made = replan_here(scene, now, played(scene.plan, now), iterations=3)
    again = next(r for r in made.plan.routes if r.truck_id == route.truck_id)
    begin = boxes(made, again)[1]
    assert ("Empties off", f"{empties} empty pails") in [(f.label, f.text) for f in begin.facts]


def test_a_truck_keeps_its_letter_when_another_is_out(scene: Scene, alone: Replanned) -> None:
    before = style_of(scene.operation, "light").letter
    assert style_of(alone.remaining.operation, "light").letter == before == "B"
    content = sheet_content(alone.remaining.operation, alone.plan, alone.plan.routes[0])
    assert "TRUCK light (B on the map)" in content.running_head


def test_a_stop_of_the_sheet_has_its_number_on_the_map() -> None:
    case = small_case()
    for i, route in enumerate(case.plan.routes):
        rows = Rows(RouteDay(case.operation, case.plan, route), i).all()
        style = style_of(case.operation, route.truck_id)
        content = sheet_content(case.operation, case.plan, route)
        assert f"TRUCK {route.truck_id} ({style.letter} on the map)" in content.running_head
        marks = [row.mark for row in rows if row.kind == "yard"]
        assert marks == [f"{style.letter}{b.mark}" for b in content.blocks if b.kind == "yard"]


def test_a_plan_that_replaces_none_says_nothing_of_changes() -> None:
    case = small_case()
    for text in (*run_sheet_html(case.operation, case.plan).values(), terminal(case.operation, case.plan)):
        assert "REPLACES" not in text
        assert "changed" not in text
    assert "What changed" not in map_html(case.operation, case.plan, case.travel)


def test_the_terminal_begins_with_what_to_tell_each_driver_now(made: Replanned) -> None:
    shown = terminal(made.remaining.operation, made.plan)
    top = shown[: shown.index("Truck ")]
    assert top.index("Tell the crews now") < top.index("What changed")
    for change in made.plan.changes:
        if change.code == "tell":
            assert change.text in " ".join(top.split())
    assert f"Replaces plan {made.plan.replaces}" in top
    # Only a truck that stands at a depot has anything to load before it drives on.
    assert ("load at" in shown) == any(route.stops[0].fill for route in made.plan.routes)


def test_a_crew_without_stops_is_told_so_too(alone: Replanned) -> None:
    shown = terminal(alone.remaining.operation, alone.plan)
    assert "heavy is out of action (engine)" in shown
    assert told_trucks(alone.plan) == ["light", "heavy"]


def test_what_to_do_now_comes_first_and_new_stops_in_driving_order(made: Replanned) -> None:
    for route in routes_with_news(made.plan):
        told = of_truck(made.plan, route.truck_id)
        assert told[0].code == "tell"
        yards = [s.place_id for s in route.stops if s.kind == "yard"]
        news = [c.place_id for c in told if c.code in NEW_CODES]
        assert news == sorted(news, key=lambda place: yards.index(place or ""))


def test_files_name_the_plan_they_replace(made: Replanned) -> None:
    operation, plan = made.remaining.operation, made.plan
    rows = list(csv.DictReader(io.StringIO(stops_csv(operation, plan))))
    assert {row["replaces_plan"] for row in rows} == {plan.replaces}
    lines = [f for f in geojson(operation, plan)["features"] if f["properties"]["feature"] == "route"]
    assert {line["properties"]["replaces_plan"] for line in lines} == {plan.replaces}
    assert f"Replaces plan {plan.replaces}" in gpx(operation, plan)
    assert "Go on from" in gpx(operation, plan)


def test_a_day_on_which_no_truck_goes_on_has_a_sheet_that_says_so(made: Replanned) -> None:
    plan = replace(made.plan, routes=())
    (page,) = run_sheet_html(made.remaining.operation, plan).values()
    assert "THIS SHEET REPLACES" in page
    assert "NO TRUCK GOES OUT" in page


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_pdf_shows_changes_on_its_first_page(made: Replanned, paper: str) -> None:
    pypdf = pytest.importorskip("pypdf")
    for data in run_sheet_pdf(made.remaining.operation, made.plan, paper=paper).values():
        pages = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]
        assert f"THIS SHEET REPLACES plan {made.plan.replaces}" in pages[0]
        assert "GO ON" in pages[0]
        assert sum("THIS SHEET REPLACES" in page for page in pages) == 1


def test_a_place_made_for_a_truck_is_no_depot_on_the_map(made: Replanned) -> None:
    page = map_html(made.remaining.operation, made.plan, made.remaining.travel)
    assert HERE not in page.partition('id="day-data"')[2].partition("</script>")[0]


@needs_browser
def test_the_map_shows_what_changed_and_where_every_truck_is(made: Replanned, tmp_path) -> None:
    page = map_html(made.remaining.operation, made.plan, made.remaining.travel)
    question = """(function () {
      var out = {}, all = function (q) { return Array.from(document.querySelectorAll(q)); };
      out.first = document.querySelector('#list details .name').textContent;
      out.lines = all('.changes li').map(function (e) { return e.textContent.trim(); });
      out.here = day_scene.drawn.marks.filter(m => m.kind === 'here').length;
      out.labels = day_scene.drawn.labels.map(l => l.text);
      out.news = [].concat(...day_scene.data.trucks.map(
        t => t.stops.filter(s => s.fresh).map(s => t.letter + s.n)));
      document.querySelector('.changes button[data-shows]').click();
      out.on = all('.stop.on').length;
      return out;
    }())"""
    seen = ask(page, question, tmp_path)
    assert seen.console == []
    assert seen.answer["first"] == "What changed"
    told = " ".join(seen.answer["lines"])
    assert all(c.text in told for c in made.plan.changes if c.code != "dropped")
    assert seen.answer["here"] == len(made.plan.routes)
    where = [
        t for t in seen.answer["labels"] if t.startswith(("Now at", "On the way to", "Broke down after"))
    ]
    assert where
    news = set()
    for route in made.plan.routes:
        letter = style_of(made.remaining.operation, route.truck_id).letter
        news |= {f"{letter}{stop_marks(route)[seq]}" for seq in new_visits(made.plan, route)}
    assert set(seen.answer["news"]) == news
    assert seen.answer["on"] == 1


@needs_browser
@pytest.mark.parametrize(
    ("name", "width", "height"), [("replan-map.png", 1600, 1000), ("replan-phone.png", 500, 900)]
)
def test_pictures_of_a_re_plan_are_saved_to_look_at(made: Replanned, tmp_path, name, width, height) -> None:
    page = map_html(made.remaining.operation, made.plan, made.remaining.travel)
    assert picture(page, name, tmp_path, width, height).stat().st_size > 20_000


@needs_browser
@needs_axe
@pytest.mark.parametrize(("width", "height"), [(1600, 1000), (360, 740)])
def test_the_map_of_a_re_plan_has_no_accessibility_finding(
    made: Replanned, tmp_path, width: int, height: int
) -> None:
    tiles = tile_server("https://tiles.example.org/{z}/{x}/{y}.png", "the owner")
    page = map_html(made.remaining.operation, made.plan, made.remaining.travel, tiles)
    assert axe_findings(page, tmp_path, width, height) == []
