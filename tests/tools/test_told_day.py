"""The day that docs/a-day.md tells, played through the command line: nothing is lost, moved or doubled."""

from __future__ import annotations

import csv
import json
import re
import shutil
from datetime import datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from routing.domain.plan import Plan, Stop
from routing.domain.units import L_PER_US_GAL
from routing.files.operation.folder import read_operation
from tests.support.face import DEMO, ROOT, feedround
from tools.told_day import DATE, STORY, Told, ToldDay, names_of, typed

QUICK = ("--iterations", "40")
PAGE = ROOT / "docs" / "a-day.md"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("told")
    shutil.copytree(DEMO, found / "county", ignore=shutil.ignore_patterns("day_log*"))
    return found


@pytest.fixture(scope="module")
def day(home: Path) -> ToldDay:
    """The whole day, played once."""
    operation, _ = read_operation(home / "county")

    def run(words: list[str]) -> tuple[int, str]:
        return typed([*words, *(QUICK if words[0] in ("plan", "replan") else ())])

    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(home)
        patch.delenv("FEEDROUND_TRUCK", raising=False)
        patch.setenv("COLUMNS", "100")
        found = ToldDay(run, names_of(operation))
        found.play(STORY.read_text(encoding="utf-8"))
    return found


@pytest.fixture
def at_home(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(home)
    monkeypatch.setenv("COLUMNS", "120")
    return home


def _clock(text: str, plan: Plan) -> datetime:
    return datetime.combine(plan.date, time.fromisoformat(text), ZoneInfo(plan.timezone))


def _made_at(file: Path) -> str:
    """The local time a re-plan was made at, by the name of its folder."""
    return f"{file.parent.name[3:5]}:{file.parent.name[5:]}"


def _stops(plan: Plan, kind: str = "yard") -> list[Stop]:
    return [stop for route in plan.routes for stop in route.stops if stop.kind == kind]


def _notes(day: ToldDay, verb: str) -> list[Told]:
    return [told for told in day.told if told.words[0] == "note" and told.words[2] == verb]


def _poured_l(status: dict[str, Any], yard_id: str) -> float:
    return float(sum(group["poured_l"] for group in status["yards"][yard_id]["groups"]))


def test_every_note_and_plan_of_the_day_is_taken(day: ToldDay) -> None:
    left = {"plan": (0, 1), "replan": (0, 1)}
    assert [told.words for told in day.told if told.code not in left.get(told.words[0], (0,))] == []
    assert all("Traceback" not in told.said for told in day.told)
    assert len(day.plans) == 4


def test_every_plan_of_the_day_passes_the_audit(day: ToldDay, at_home: Path) -> None:
    for _, file in day.plans:
        assert feedround("audit", "county", file).code == 0, file


def test_a_re_plan_with_one_figure_changed_does_not_pass(day: ToldDay, at_home: Path, tmp_path: Path) -> None:
    text = json.loads(day.plans[-1][1].read_text(encoding="utf-8"))
    text["routes"][0]["stops"][-1]["leg"]["distance_m"] += 1000
    edited = tmp_path / "plan.json"
    edited.write_text(json.dumps(text), encoding="utf-8")
    assert feedround("audit", "county", edited).code == 1


def test_each_re_plan_says_which_plan_it_replaces(day: ToldDay) -> None:
    plans = [plan for plan, _ in day.plans]
    assert [plan.replaces for plan in plans] == ["", *(plan.plan_id for plan in plans[:-1])]


def test_no_re_plan_goes_back_to_a_yard_that_is_done(day: ToldDay, at_home: Path) -> None:
    for plan, file in day.plans[1:]:
        before = day.status(_made_at(file))
        done = {yard_id for yard_id, yard in before["yards"].items() if yard["status"] == "done"}
        assert done
        assert done.isdisjoint(stop.place_id for stop in _stops(plan))
        assert all(stop.leave >= _clock(_made_at(file), plan) for stop in _stops(plan))


def test_what_was_done_before_a_re_plan_stands_unchanged_in_the_evening(day: ToldDay, at_home: Path) -> None:
    evening = day.status("23:00")
    for _, file in day.plans[1:]:
        before = day.status(_made_at(file))
        done = [yard_id for yard_id, yard in before["yards"].items() if yard["status"] == "done"]
        assert [_poured_l(evening, y) for y in done] == [_poured_l(before, y) for y in done]


def test_a_broken_truck_gets_no_stop_until_it_is_back(day: ToldDay) -> None:
    trucks = [{route.truck_id for route in plan.routes} for plan, _ in day.plans]
    assert trucks == [{"heavy", "light"}, {"heavy"}, {"heavy"}, {"heavy", "light"}]


def test_a_yard_behind_a_locked_gate_is_not_visited_before_it_opens(day: ToldDay) -> None:
    for plan, _ in day.plans[1:]:
        visits = [stop for stop in _stops(plan) if stop.place_id == day.found["gate"].yard_id]
        assert all(stop.begin >= _clock("13:00", plan) for stop in visits)
        left = [u for u in plan.unserved if u.yard_id == day.found["gate"].yard_id]
        assert visits or left or day.poured_l.get(day.found["gate"].yard_id)


def test_a_yard_called_in_by_telephone_is_fed_as_was_asked(day: ToldDay, at_home: Path) -> None:
    assert "Y35" not in {stop.place_id for stop in _stops(day.plans[1][0])}
    assert "Y35" in {stop.place_id for stop in _stops(day.plans[2][0])}
    evening = day.status("23:00")
    assert sum(group["fed_colonies"] for group in evening["yards"]["Y35"]["groups"]) == 12
    assert _poured_l(evening, "Y35") == pytest.approx(12 * L_PER_US_GAL, abs=0.01)


def test_a_depot_that_closed_early_gives_nothing_more(day: ToldDay) -> None:
    plan = day.plans[3][0]
    filled = [stop.place_id for stop in (*_stops(plan, "refill"), *_stops(plan, "start")) if stop.fill]
    assert day.found["tap"].id not in filled


def test_a_re_plan_says_what_it_costs_in_time_and_fuel(day: ToldDay) -> None:
    for plan, _ in day.plans[1:]:
        assert plan.difference is not None
    assert day.plans[1][0].difference.fuel_l < 0 < day.plans[3][0].difference.fuel_l
    said = next(told.said for told in day.told if told.words[0] == "replan")
    assert "Against what was left of the plan before" in said


def test_each_crew_is_told_what_to_do_now(day: ToldDay) -> None:
    for plan, _ in day.plans[1:]:
        told = {change.truck_id for change in plan.changes if change.code == "tell"}
        assert {route.truck_id for route in plan.routes} <= told


def test_the_status_shows_what_meter_and_gauge_say_against_the_book(day: ToldDay, at_home: Path) -> None:
    gaps = {gap["code"]: gap for gap in day.status("17:00")["gaps"]}
    meter = day.found["meter"]
    assert gaps["meter_gap"]["place"] == f"yard:{meter.yard_id}"
    assert gaps["meter_gap"]["amount"] == pytest.approx(-6 * L_PER_US_GAL, abs=0.1)
    assert (gaps["gauge_gap"]["truck_id"], gaps["gauge_gap"]["item"]) == (meter.truck, meter.tank)
    # The gauge is read to whole gallons, eight below the book.
    assert gaps["gauge_gap"]["amount"] == pytest.approx(-8 * L_PER_US_GAL, abs=0.51 * L_PER_US_GAL)
    said = feedround("status", "county", "--date", DATE, "--now", "17:00").out
    assert "the meter counted 6.0 gal less than was noted" in said
    assert ": 0 colonies" not in said


def test_the_status_shows_a_short_pour_and_forgets_a_mistake_that_was_put_right(
    day: ToldDay, at_home: Path
) -> None:
    gaps = day.status("17:00")["gaps"]
    yard = {name: f"yard:{day.found[name].yard_id}" for name in ("short", "slip")}
    assert [gap for gap in gaps if gap["code"] == "poured_short" and gap["place"] == yard["short"]]
    assert not [gap for gap in gaps if gap["code"] == "poured_over"]
    wrong = next(told for told in _notes(day, "fed") if day.found["slip"].tenfold + "gal" in told.words)
    assert "more than planned" in wrong.said


def test_in_the_evening_both_trucks_are_home(day: ToldDay, at_home: Path) -> None:
    assert {t["status"] for t in day.status("23:00")["trucks"].values()} == {"finished"}


def test_the_feed_record_holds_what_was_noted_each_once(day: ToldDay, at_home: Path) -> None:
    noted = dict(day.poured_l)
    for name, amount in (("short", "less"), ("slip", "gal"), ("meter", "gal")):
        halt = day.found[name]
        noted[halt.yard_id] = noted.get(halt.yard_id, 0.0) + float(getattr(halt, amount)) * L_PER_US_GAL
    feedround("record", "county", "--out", "evening.csv")
    with (at_home / "evening.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    recorded: dict[str, float] = {}
    for row in rows:
        recorded[row["yard_id"]] = recorded.get(row["yard_id"], 0.0) + float(row["quantity_l"])
    assert recorded == pytest.approx(noted, abs=0.2)
    assert all(row["date"] == DATE and row["lot"] and row["registration_id"] for row in rows)
    right = [row for row in rows if row["yard_id"] == day.found["slip"].yard_id]
    assert {row["how_known"] for row in right} == {"noted by the crew"}
    metered = [row for row in rows if row["how_known"] == "flow meter"]
    assert {row["yard_id"] for row in metered} == {day.found["meter"].yard_id}


def test_the_mistake_stays_in_the_log_beside_what_stands_in_its_place(day: ToldDay, at_home: Path) -> None:
    listed = json.loads(feedround("note", "county", "--date", DATE, "list", "--json").out)
    events = [e for e in listed if e["kind"] == "fed" and e["fact"]["yard_id"] == day.found["slip"].yard_id]
    wrong, right = events
    assert (wrong["replaced_by"], right["corrects"]) == (right["event_id"], wrong["event_id"])
    notes = sum(1 for told in day.told if told.words[0] == "note")
    assert len(listed) == notes + len(day.plans) - 1


def test_the_page_tells_the_day_that_is_played_here() -> None:
    story, page = (re.sub(r"[ \t]+", " ", file.read_text(encoding="utf-8")) for file in (STORY, PAGE))
    lines = " ".join(page.split())
    for part in re.split(r"<!--.*?-->|\n\n+|\{[a-z_.]+\}|^ \|.*$|\n(?= \$)", story, flags=re.MULTILINE):
        assert " ".join(part.split()) in lines
