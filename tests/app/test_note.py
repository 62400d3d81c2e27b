"""A feeding day noted at a terminal, as a crew would type it on a phone."""

from __future__ import annotations

import csv
import json
import re
import shutil
import sys
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from routing.app.cli import cli
from routing.app.cli.note import changes
from routing.app.cli.note.verbs import commands
from routing.app.workflow import day_book, workflow
from routing.app.workflow.day_book import DayBook, open_day
from routing.domain.errors import FeedroundError, ValueRefused
from routing.files.log.log import DayLog, log_path
from routing.files.operation.folder import read_operation
from routing.files.plan.plan_json import dump_plan, load_plan
from routing.log.events import Event
from routing.log.facts import Mixed, Planned, Poured
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from routing.reports.export.feed_record import quantity
from routing.reports.words.format import Units
from tests.support.folders import TOML_US, us_tables, write_folder

DAY = "2026-09-28"
ROOT = Path(__file__).parents[2]
GAL = 3.785411784
UNTIMED = ("planned", "list", "sheet", "import", "withdraw")


def _tables() -> dict[str, list[dict[str, Any]]]:
    """The small operation with a second truck, and a yard of two groups."""
    tables = us_tables()
    light = dict(tables["trucks"][0], truck_id="T2", gvwr_lb=14000, tare_lb=8000, pail_slots=0)
    tables["trucks"].append(light)
    tables["tanks"].append({"truck_id": "T2", "tank_id": "tote", "capacity_gal": 275, "level_gal": 50})
    oak = next(row for row in tables["colonies"] if row["yard_id"] == "oak")
    oak["group"] = "strong"
    tables["colonies"].append(dict(oak, group="weak", colonies=6, strength_frames=4))
    for row in tables["yards"]:
        row["registration_id"] = f"R-{row['yard_id']}"
    tables["syrups"][0] |= {"lot": "S-1", "supplier": "a sugar works"}
    return tables


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An operation folder with its plan beside it: made once, copied by every test."""
    home = tmp_path_factory.mktemp("planned")
    folder = write_folder(home / "farm", _tables(), TOML_US + "\n[work]\nquarantine_permit = true\n")
    made = workflow.plan(folder, date.fromisoformat(DAY), DayOptions(None, SolveOptions(None, 40, 1)))
    (home / "plan.json").write_text(dump_plan(made.plan), encoding="utf-8")
    return home


class Phone:
    """Types commands, and keeps what came back."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], patch: pytest.MonkeyPatch) -> None:
        self.folder, self.capsys, self.patch = folder, capsys, patch
        self.plan = load_plan(folder.parent / "plan.json")

    def type(self, *words: str, code: int = 0) -> str:
        self.capsys.readouterr()
        self.patch.setattr(sys, "argv", ["feedround", *words])
        try:
            cli.main()
            left = 0
        except SystemExit as stop:
            left = int(stop.code or 0)
        out = self.capsys.readouterr()
        assert left == code, out.out + out.err
        assert "Traceback" not in out.err
        return out.out + out.err

    def note(self, *words: str, code: int = 0) -> str:
        """Note a word on the feeding day; at a quarter to ten unless a time is said."""
        timed = () if words[0] in UNTIMED or {"-a", "--at", "-c"} & set(words) else ("-a", "09:45")
        return self.type("note", str(self.folder), *words, *timed, "-d", DAY, code=code)

    def noted(self, *words: str) -> str:
        """Note, and the id told."""
        found = re.search(r"^Id: (\S+)$", self.note(*words), re.MULTILINE)
        assert found
        return found[1]

    def status(self, now: str = "23:00") -> dict[str, Any]:
        text = self.type("status", str(self.folder), "--date", DAY, "--now", now, "--json")
        return dict(json.loads(text))

    def route(self, yard_id: str) -> Any:
        return next(r for r in self.plan.routes if any(s.place_id == yard_id for s in r.stops))

    def stop(self, yard_id: str) -> Any:
        return next(s for s in self.route(yard_id).stops if s.place_id == yard_id and s.kind == "yard")


@pytest.fixture
def phone(
    planned: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Phone:
    shutil.copytree(planned, tmp_path / "home")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.delenv("FEEDROUND_TRUCK", raising=False)
    found = Phone(tmp_path / "home" / "farm", capsys, monkeypatch)
    found.note("planned", str(tmp_path / "home" / "plan.json"))
    return found


def _poured_gal(status: dict[str, Any], yard_id: str) -> float:
    return round(sum(g["poured_l"] for g in status["yards"][yard_id]["groups"]) / GAL, 2)


def test_the_whole_day_can_be_noted_with_one_word_a_yard(phone: Phone) -> None:
    for route in phone.plan.routes:
        for stop in route.stops:
            when = ("-a", f"{stop.leave:%H:%M}", "-t", route.truck_id)
            if stop.kind == "start":
                phone.note("started", route.truck_id, "-a", f"{stop.leave:%H:%M}")
            elif stop.kind == "yard":
                told = phone.note("fed", stop.place_id, *when)
                assert "as planned" in told
            elif stop.kind == "refill":
                phone.note("refilled", stop.place_id, *when)
            elif stop.kind == "break":
                phone.note("break", "30", *when)
            elif stop.kind == "wash":
                phone.note("washed", stop.place_id, *when)
            elif stop.kind == "end":
                phone.note("finished", *when)
    status = phone.status()
    fed = {s.place_id for r in phone.plan.routes for s in r.stops if s.kind == "yard"}
    assert {y for y, yard in status["yards"].items() if yard["status"] == "done"} == fed
    for route in phone.plan.routes:
        truck = status["trucks"][route.truck_id]
        assert truck["status"] == "finished"
        for name, tank in route.stops[-1].after.tanks.items():
            assert truck["tanks"][name]["volume_l"] == pytest.approx(tank.volume_l, abs=0.01)
    codes = {gap["code"] for gap in status["gaps"]}
    assert codes <= {"early", "late"}, status["gaps"]


def test_a_note_says_what_was_recorded_its_id_and_what_comes_next(phone: Phone) -> None:
    stop = phone.stop("elm")
    told = phone.note("fed", "ELM", "16/30gal", "-a", "09:40")
    assert "fed Elm hill (elm): 16 colonies, 30.0 gal thick from" in told
    assert "(elm): 12 of 16 colonies, 12.0 gal thick from" in phone.note(
        "fed", "elm", "12x1gal", "-a", "09:45"
    )
    assert "lot S-1" in told
    assert re.search(r"^Id: [0-9a-f-]{36}$", told, re.MULTILINE)
    assert f"{phone.route('elm').truck_id} fed" in told
    assert stop.pour


def test_a_note_made_late_says_what_comes_next_now_and_not_then(phone: Phone) -> None:
    route = max(phone.plan.routes, key=lambda r: sum(s.kind == "yard" for s in r.stops))
    first, second, *_ = [s for s in route.stops if s.kind == "yard"]
    then = route.stops[second.seq + 1]
    phone.note("started", route.truck_id, "-a", f"{route.stops[0].leave:%H:%M}")
    told = phone.note("fed", second.place_id, "-t", route.truck_id, "-a", f"{second.leave:%H:%M}")
    coming = told.partition("Next: ")[2]
    assert f"({then.place_id})" in coming or "break" in coming
    late = phone.note("fed", first.place_id, "-t", route.truck_id, "-a", f"{first.leave:%H:%M}")
    assert late.partition("Next: ")[2] == coming
    assert f"({second.place_id})" not in coming


@pytest.mark.parametrize("yard", ["elm", "ELM", "Elm hill", "elm HILL"])
def test_a_yard_goes_by_id_or_name_in_any_letter_case(phone: Phone, yard: str) -> None:
    assert "Elm hill (elm)" in phone.note("fed", yard, "16/30gal")


@pytest.mark.parametrize(
    ("words", "gal"),
    [
        (("30gal",), 30.0),
        (("30",), 30.0),
        (("113.562353520L",), 30.0),
        (("16/30gal",), 30.0),
        (("16x2gal",), 32.0),
        (("all=16/30gal",), 30.0),
        (("--meter", "1200-1230.5"), 30.5),
        (("-m", "1200-1230.5gal"), 30.5),
    ],
)
def test_amounts_are_read_in_every_spelling(phone: Phone, words: tuple[str, ...], gal: float) -> None:
    phone.note("fed", "elm", *words, "-a", "10:00")
    status = phone.status()
    assert _poured_gal(status, "elm") == gal
    assert status["yards"]["elm"]["status"] == "done"


def test_one_amount_for_two_groups_is_shared_as_the_plan_shares_it(phone: Phone) -> None:
    planned = {p.group: p.volume_l for p in phone.stop("oak").pour}
    phone.note("fed", "oak", "30gal", "-a", "10:00")
    groups = {g["group"]: g["poured_l"] for g in phone.status()["yards"]["oak"]["groups"]}
    assert sum(groups.values()) == pytest.approx(30 * GAL, abs=0.002)
    share = planned["strong"] / sum(planned.values())
    assert groups["strong"] == pytest.approx(30 * GAL * share, abs=0.01)


def test_colonies_left_unfed_are_told_group_by_group(phone: Phone) -> None:
    phone.note("fed", "oak", "strong=20/40gal", "weak=2/1gal", "--alive", "weak=5", "--light", "strong=3",
               "-a", "10:00")  # fmt: skip
    oak = phone.status()["yards"]["oak"]
    assert oak["status"] == "part"
    assert {g["group"]: g["left_colonies"] for g in oak["groups"]} == {"strong": 4, "weak": 3}
    assert {g["group"]: (g["alive"], g["light"]) for g in oak["groups"]} == {
        "strong": (None, 3),
        "weak": (5, None),
    }
    phone.note("fed", "oak", "-a", "10:30")
    oak = phone.status()["yards"]["oak"]
    assert oak["status"] == "done"
    assert {g["group"]: g["fed_colonies"] for g in oak["groups"]} == {"strong": 24, "weak": 5}


def test_the_same_note_with_the_same_id_is_taken_once(phone: Phone) -> None:
    name = str(uuid.uuid4())
    first = phone.note("fed", "elm", "--id", name)
    again = phone.note("fed", "elm", "--id", name.upper())
    assert "Noted:" in first
    assert "Noted before, nothing added" in again
    assert name in again
    assert phone.status()["events"] == 2
    refused = phone.note("fed", "oak", "--id", name, code=2)
    assert "already used by another note" in refused
    assert "not a UUID" in phone.note("fed", "oak", "--id", "seven", code=2)


def test_a_slip_is_corrected_and_both_stay_in_the_list(phone: Phone) -> None:
    wrong = phone.noted("fed", "elm", "16/300gal", "-a", "09:40")
    told = phone.note("fed", "elm", "16/30gal", "-c", wrong[:6])
    assert "09:40" in told
    status = phone.status()
    assert _poured_gal(status, "elm") == 30.0
    listed = phone.note("list")
    assert "300.0 gal" in listed
    assert f"in place of {wrong[:8]}" in listed
    rows = json.loads(phone.note("list", "--json"))
    assert [row["kind"] for row in rows] == ["planned", "fed", "fed"]
    assert rows[1]["replaced_by"] == rows[2]["event_id"]


def test_a_note_of_the_wrong_yard_is_withdrawn(phone: Phone) -> None:
    wrong = phone.noted("fed", "elm", "-a", "09:40")
    phone.note("withdraw", wrong, "it", "was", "oak")
    status = phone.status()
    assert status["yards"]["elm"]["status"] == "due"
    assert "begins with" in phone.note("withdraw", "ffff", code=2)


def _fed_l(phone: Phone, yard_id: str) -> float:
    return float(sum(g["poured_l"] for g in phone.status()["yards"][yard_id]["groups"]))


@pytest.mark.parametrize("named", [0, 1])
def test_a_pour_that_was_corrected_and_is_withdrawn_is_gone_altogether(phone: Phone, named: int) -> None:
    wrong = phone.noted("fed", "elm", "260gal", "-a", "09:40")
    right = phone.noted("fed", "elm", "26gal", "-c", wrong)
    assert _fed_l(phone, "elm") == pytest.approx(26 * GAL, abs=0.01)
    told = phone.note("withdraw", (wrong, right)[named], "it", "was", "oak").splitlines()
    assert told[0].startswith("Withdrawn: ")
    assert "26.0 gal" in told[0]
    assert told[0].endswith(f"({right[:8]})")
    assert told[1].startswith("And what it replaced: ")
    assert "260.0 gal" in told[1]
    assert told[1].endswith(f"({wrong[:8]})")
    assert told[2] == "These notes are now ignored. To restore one, note it again."
    assert _fed_l(phone, "elm") == 0
    assert phone.status()["yards"]["elm"]["status"] == "due"


def test_withdrawing_twice_brings_nothing_back(phone: Phone) -> None:
    wrong = phone.noted("fed", "elm", "-a", "09:40")
    gone = phone.noted("withdraw", wrong)
    assert "Withdrawn: " in phone.note("withdraw", gone)
    assert phone.status()["yards"]["elm"]["status"] == "due"


def test_a_locked_gate_is_noted_in_four_words(phone: Phone) -> None:
    phone.note("skipped", "elm", "gate", "new", "padlock", "--until", "13:00", "-a", "10:35")
    elm = phone.status("10:36")["yards"]["elm"]
    assert (elm["status"], elm["skipped"]["reason"], elm["skipped"]["words"]) == (
        "skipped",
        "gate_locked",
        "new padlock",
    )
    assert elm["closed_until"].startswith(f"{DAY} 13:00")
    assert "gate_locked, mud" in phone.note("skipped", "elm", "nothing", code=2)


def test_trucks_and_places_that_fail_and_supplies_that_come_are_noted(phone: Phone) -> None:
    phone.note("out", "t1", "gearbox", "-a", "11:20")
    phone.note("closed", "co-op", "power", "cut", "--until", "15:00", "-a", "11:30")
    phone.note("closed", "oak", "bull", "loose", "-a", "11:31")
    phone.note("urgent", "ash", "10x1gal", "--words", "landowner rang", "-a", "12:05")
    phone.note("mixed", "home", "thick", "100gal", "--lot", "M-1", "--words", "sugar lot 9", "-a", "12:10")
    phone.note("received", "co-op", "corn", "1000gal", "--lot", "C-2", "--from", "a corn mill", "-a", "12:20")
    status = phone.status("12:30")
    assert status["trucks"]["T1"]["status"] == "out"
    assert status["depots"]["co-op"]["closed"]
    assert status["yards"]["oak"]["closed"]
    ash = status["yards"]["ash"]
    assert (ash["urgent"], ash["urgent_colonies"], round(ash["urgent_each_l"] / GAL, 3)) == (True, 10, 1.0)
    assert round(status["depots"]["home"]["stock_l"]["thick"] / GAL) == 2100
    assert round(status["depots"]["co-op"]["stock_l"]["corn"] / GAL) == 1500
    phone.note("back", "T1", "-a", "13:00")
    assert phone.status("13:01")["trucks"]["T1"]["status"] == "not_started"


def test_a_call_for_so_much_is_for_the_yard_in_all(phone: Phone) -> None:
    told = phone.note("urgent", "ash", "12gal", "-a", "12:05")
    assert "must be fed today, 12.0 gal in all" in told
    ash = phone.status()["yards"]["ash"]
    assert (round(ash["urgent_total_l"] / GAL, 3), ash["urgent_each_l"]) == (12.0, None)
    assert "Look:" not in told


@pytest.mark.parametrize(
    ("amount", "looks"),
    [
        ("900gal", "more was asked for than the feeders there take"),
        ("10x90gal", "more was asked for than the feeders there take"),
        ("900x1gal", "more colonies were called in than the yard has"),
    ],
)
def test_what_a_call_asks_in_vain_is_said_at_once(phone: Phone, amount: str, looks: str) -> None:
    assert looks in phone.note("urgent", "ash", amount, "-a", "12:05").partition("Look: ")[2]


def test_a_call_for_a_yard_that_may_not_be_fed_says_why_at_once_and_in_the_status(phone: Phone) -> None:
    phone.note("closed", "elm", "-a", "09:00")
    told = phone.note("urgent", "elm", "10x1gal", "-w", "light hives", "-a", "09:05")
    assert "Look: Elm hill (elm) may not be fed today: The yard is closed today. Note when" in told
    said = " ".join(phone.type("status", str(phone.folder), "--date", DAY, "--now", "09:10").split())
    for words in ("URGENT light hives (called in", "10 colonies", "MAY NOT BE FED"):
        assert words in said
    told = phone.note("urgent", "oak", "10x1gal", "-a", "09:06")
    assert "may not be fed" not in told


def test_a_note_with_two_faults_is_told_both_the_true_one_first(phone: Phone) -> None:
    book = _book(phone, "2026-11-25T12:00:00")
    book = replace(book, day=date.fromisoformat(DAY))
    with pytest.raises(ValueRefused) as caught:
        day_book.note(book, lambda known: changes.out(known, "county", ["clutch"]))
    assert re.search(r"there is no truck county.*\n.*is not today", str(caught.value))


def test_a_record_is_not_written_over_by_one_with_fewer_feedings(phone: Phone) -> None:
    phone.note("fed", "elm", "16/30gal", "-a", "09:40")
    out = phone.folder.parent / "kept.csv"
    words = ("record", str(phone.folder), "--out", str(out))
    phone.type(*words)
    before = out.read_bytes()
    phone.type(*words)
    phone.type(*words, "--from", "2027-01-01", code=2)
    assert out.read_bytes() == before
    phone.type(*words, "--from", "2027-01-01", "--replace")
    assert len(out.read_text().splitlines()) == 1


def test_a_call_for_a_yard_that_was_fed_in_full_says_so(phone: Phone) -> None:
    phone.note("fed", "oak", "-a", "10:00")
    told = phone.note("urgent", "oak", "-a", "12:05")
    assert "fed in full already: nothing more is planned there" in told


@pytest.mark.parametrize("amount", ["hfcs:10gal", "strong=10gal", "full", "0gal", "-5gal"])
def test_a_call_for_what_cannot_be_given_is_refused(phone: Phone, amount: str) -> None:
    phone.note("urgent", "ash", amount, "-a", "12:05", code=2)
    assert not phone.status()["yards"]["ash"]["urgent"]


def test_a_yard_fed_twice_or_with_more_colonies_than_it_has_is_looked_at(phone: Phone) -> None:
    ran = phone.note("fed", "oak", "strong=99/20gal", "-a", "10:00")
    assert "oak), strong: more colonies were fed than the group has: " in ran
    assert " colonies" in ran.rpartition("than the group has: ")[2]
    again = phone.note("fed", "oak", "strong=14/20gal", "-a", "10:10")
    assert "oak), strong: a group that was fed in full already was fed again: 20.0 gal" in again


def test_loads_gauge_and_meter_are_noted_by_tank(phone: Phone) -> None:
    phone.note("started", "T1", "front=200gal", "pails=12x2gal", "--lot", "S-2", "-a", "06:30")
    truck = phone.status("06:31")["trucks"]["T1"]
    assert round(truck["tanks"]["front"]["volume_l"] / GAL, 3) == 300.0
    assert truck["tanks"]["front"]["lots"] == ["S-2"]
    assert truck["pails"]["thick"]["count"] == 12
    phone.note("refilled", "home", "front=full", "rear=corn:50gal", "-t", "T1", "-a", "08:00")
    truck = phone.status("08:01")["trucks"]["T1"]
    assert round(truck["tanks"]["front"]["volume_l"] / GAL, 3) == 500.0
    assert round(truck["tanks"]["rear"]["volume_l"] / GAL, 3) == 50.0
    told = phone.note("gauge", "front", "480gal", "-a", "08:05")
    assert "the gauge shows 20.0 gal less than the book" in told
    told = phone.note("fed", "elm", "16/30gal", "-m", "100-133", "-t", "T1", "-a", "09:00")
    assert "the meter counted" in told


def test_a_phone_that_stays_in_one_cab_need_not_name_the_truck(phone: Phone) -> None:
    phone.patch.setenv("FEEDROUND_TRUCK", "T2")
    assert "T2 fed Elm hill" in phone.note("fed", "elm", "16/30gal")
    assert "T2 took a break of 45 min" in phone.note("break", "45")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("fed", "elmo"), "there is no yard elmo"),
        (("fed", "elm", "lots"), "'lots' is no amount"),
        (("fed", "elm", "-5gal"), ""),
        (("fed", "elm", "30lb"), "no amount"),
        (("fed", "elm", "900000gal"), "more than anything holds"),
        (("fed", "elm", "north=10/5gal"), "has no group north"),
        (("fed", "oak", "10/5gal"), "for each group"),
        (("fed", "elm", "30gal", "40gal"), "told twice"),
        (("fed", "oak", "strong=20/30gal", "5gal"), "name the group"),
        (("fed", "elm", "--meter", "1300-1200"), "a meter counts up"),
        (("fed", "elm", "--meter", "1300"), "no meter reading"),
        (("fed", "elm", "--alive", "many"), "no count"),
        (("fed", "elm", "--tank", "middle"), "there is no tank middle"),
        (("fed", "elm", "-t", "T9"), "there is no truck T9"),
        (("fed", "elm", "-a", "25:10"), "is not a time"),
        (("arrived", "nowhere"), "there is no yard nowhere"),
        (("refilled", "co-op", "-t", "T1"), "no refill at co-op is planned"),
        (("refilled", "home", "middle=3gal", "-t", "T1"), "has no tank middle"),
        (("started", "T9"), "there is no truck T9"),
        (("break", "long", "-t", "T1"), "no length of time"),
        (("gauge", "front", "much"), "no amount"),
        (("planned", "nothing.json"), "there is no such file"),
        (("fed", "elm", "-c", "zzzz"), "begins with"),
    ],
)
def test_what_cannot_be_understood_is_refused_and_nothing_is_noted(
    phone: Phone, words: tuple[str, ...], told: str
) -> None:
    assert told in " ".join(phone.note(*words, code=2).split())
    assert phone.status()["events"] == 1


def test_a_damaged_log_is_told_and_left_alone(phone: Phone) -> None:
    path = log_path(phone.folder)
    path.write_bytes(path.read_bytes()[:3000])
    before = path.read_bytes()
    told = phone.note("fed", "elm", code=2)
    assert "damaged" in told
    assert "Nothing was written" in told
    assert path.read_bytes() == before


def test_a_plan_edited_by_hand_is_audited_before_it_is_noted(phone: Phone) -> None:
    route = phone.plan.routes[0]
    broken = replace(phone.plan, routes=(replace(route, stops=route.stops[:-1]), *phone.plan.routes[1:]))
    file = phone.folder.parent / "edited.json"
    file.write_text(dump_plan(broken), encoding="utf-8")
    assert "this plan fails the audit" in phone.note("planned", str(file), code=2)


def test_the_log_makes_sense_when_the_plan_file_is_gone(phone: Phone) -> None:
    (phone.folder.parent / "plan.json").unlink()
    phone.note("fed", "elm")
    assert phone.status()["yards"]["elm"]["status"] == "done"


def test_without_any_plan_amounts_are_said_and_kept(phone: Phone) -> None:
    log_path(phone.folder).unlink()
    assert "say how much" in phone.note("fed", "elm", "-t", "T1", code=2)
    phone.note("fed", "elm", "30gal", "-t", "T1", "-a", "10:00")
    assert _poured_gal(phone.status(), "elm") == 30.0


def _fill_in(file: Path, change: Callable[[dict[str, str]], None]) -> None:
    with file.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    for row in rows:
        change(row)
    with file.open("w", encoding="utf-8", newline="") as text:
        writer = csv.DictWriter(text, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def _as_planned(row: dict[str, str]) -> None:
    row["arrive"], row["leave"] = row["planned_arrive"], row["planned_leave"]
    if row["kind"] in ("yard", "start", "refill") and row["planned_gal"]:
        row["amount_gal"] = row["planned_gal"]
        row["colonies"] = row["planned_colonies"]
    if row["place_id"] == "elm":
        row["colonies"], row["amount_gal"], row["skipped"], row["words"] = "", "", "mud", "to the axles"


def test_a_filled_in_run_sheet_is_taken_in_once(phone: Phone) -> None:
    file = phone.folder.parent / "monday.csv"
    phone.note("sheet", "--out", str(file))
    told = phone.note("import", str(file))
    assert "0 events noted" in told
    _fill_in(file, _as_planned)
    told = phone.note("import", str(file))
    status = phone.status()
    fed = {s.place_id for r in phone.plan.routes for s in r.stops if s.kind == "yard"} - {"elm"}
    assert {y for y, yard in status["yards"].items() if yard["status"] == "done"} == fed
    assert status["yards"]["elm"]["skipped"]["words"] == "to the axles"
    for yard_id in fed:
        planned = sum(p.volume_l for p in phone.stop(yard_id).pour)
        assert _poured_gal(status, yard_id) == pytest.approx(planned / GAL, abs=0.02)
    assert {t["status"] for n, t in status["trucks"].items() if phone_has(phone, n)} == {"finished"}
    again = phone.note("import", str(file))
    assert "0 events noted" in again
    assert phone.status()["events"] == status["events"]


def phone_has(phone: Phone, truck_id: str) -> bool:
    return any(route.truck_id == truck_id for route in phone.plan.routes)


def test_a_row_changed_after_it_was_taken_in_is_no_second_pour(phone: Phone) -> None:
    file = phone.folder.parent / "monday.csv"
    phone.note("sheet", "--out", str(file))
    _fill_in(file, _as_planned)
    phone.note("import", str(file))
    before = phone.status()["events"]

    def more(row: dict[str, str]) -> None:
        if row["place_id"] == "oak":
            row["amount_gal"] = "99"

    _fill_in(file, more)
    assert "--corrects" in phone.note("import", str(file), code=2)
    assert phone.status()["events"] == before


def test_all_mistakes_of_a_sheet_are_told_and_nothing_is_taken_in(phone: Phone) -> None:
    file = phone.folder.parent / "monday.csv"
    phone.note("sheet", "--out", str(file))

    def wrong(row: dict[str, str]) -> None:
        _as_planned(row)
        if row["kind"] == "yard":
            row["truck_id"] = "T7"
            row["leave"] = "half past"
            row["amount_gal"] = "-4"
        if row["kind"] == "end":
            row["place_id"] = "nowhere"

    _fill_in(file, wrong)
    told = phone.note("import", str(file), code=2)
    for code in ("half past", "never negative", "not among the depots"):
        assert code in told
    assert phone.status()["events"] == 1


def _record(phone: Phone) -> list[dict[str, str]]:
    out = phone.folder.parent / "feed_record.csv"
    phone.type("record", str(phone.folder), "--out", str(out))
    with out.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_the_feed_record_names_product_lot_supplier_yard_and_quantity(phone: Phone) -> None:
    phone.note("received", "home", "thick", "500gal", "--lot", "S-2", "--from", "another works")
    phone.note("started", "T1", "front=200gal", "--lot", "S-2", "-a", "06:30")
    wrong = phone.noted("fed", "elm", "16/300gal", "-t", "T1", "-a", "09:00")
    phone.note("fed", "elm", "16/30gal", "-t", "T1", "-c", wrong)
    phone.note("fed", "ash", "20/10gal", "--lot", "S-1", "-t", "T1", "-a", "11:00", "-w", "=1+1")
    rows = _record(phone)
    assert [(r["yard_id"], r["quantity"], r["unit"]) for r in rows] == [
        ("elm", "30.0", "US gal"),
        ("ash", "10.0", "US gal"),
    ]
    first, second = rows
    assert (first["date"], first["time"], first["registration_id"]) == (DAY, "09:00", "R-elm")
    assert (first["product"], first["lot"], first["supplier"]) == (
        "sucrose syrup, 66.7 % solids",
        "S-2",
        "another works",
    )
    assert (second["lot"], second["supplier"]) == ("S-1", "a sugar works")
    assert first["how_known"] == "noted by the crew"
    assert not second["note"].startswith("="), "a spreadsheet must not take a note for a formula"


def test_the_record_of_a_planned_pour_says_round_amounts_as_the_crew_knows_them(phone: Phone) -> None:
    stop = phone.stop("elm")
    phone.note("fed", "elm", "-a", f"{stop.leave:%H:%M}")
    phone.note("fed", "oak", "strong=14/13.49gal", "-a", "11:00")
    rows = _record(phone)
    planned = {r["group"]: r for r in rows if r["yard_id"] == "elm"}
    for pour in stop.pour:
        row, gallons = planned[pour.group], pour.volume_l / GAL
        assert float(row["quantity"]) == pytest.approx(gallons, abs=pour.colonies * 0.001 / GAL + 0.005)
        assert round(float(row["quantity"]) / 0.05, 3).is_integer()
    assert [r["quantity"] for r in rows if r["yard_id"] == "oak"] == ["13.49"]


def test_a_plan_s_dose_in_whole_millilitres_is_recorded_as_the_gallons_it_stands_for() -> None:
    units = Units("us")
    pour = Poured("all", "frame", "2to1", 30, 204.39, "front")
    assert quantity(units, pour, True) == 54.0
    assert quantity(units, pour, False) == 53.99
    assert quantity(units, replace(pour, colonies=28, volume_l=95.368), True) == 25.2
    assert quantity(units, replace(pour, colonies=1, volume_l=5.11), True) == 1.35


@pytest.mark.parametrize("verb", ["record", "learn"])
def test_dates_the_wrong_way_round_are_refused(phone: Phone, verb: str) -> None:
    phone.note("fed", "elm")
    told = phone.type(verb, str(phone.folder), "--from", "2026-10-02", "--to", "2026-09-28", code=2)
    assert "--from 2026-10-02 is after --to 2026-09-28" in told
    assert not Path("feed_record.csv").exists()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("fed", "elm", "-5gal"), "-5gal is negative"),
        (("gauge", "front", "-5", "-t", "T1"), "-5 is negative"),
        (("break", "-30", "-t", "T1"), "-30 is negative"),
        (("fed", "elm", "all=-5gal"), "below nothing"),
        (("fed", "elm", "--", "-5gal"), "below nothing"),
    ],
)
def test_an_amount_below_nothing_is_told_as_such_and_not_as_an_option(
    phone: Phone, words: tuple[str, ...], says: str
) -> None:
    cut = words.index("--") if "--" in words else len(words)
    told = phone.note(*words[:cut], "-a", "09:45", "-d", DAY, *words[cut:], code=2)
    assert says in told
    assert "No such option" not in told
    assert phone.status()["events"] == 1


def test_words_may_begin_with_a_minus(phone: Phone) -> None:
    assert "(-5C at dawn)" in phone.note("fed", "elm", "-w", "-5C at dawn")


@pytest.mark.parametrize("day", ["2026-13-40", "28.9.2026", "tomorrow", ""])
def test_a_date_that_is_none_is_told_with_how_to_write_one(phone: Phone, day: str) -> None:
    for words in (("status", str(phone.folder)), ("note", str(phone.folder), "list")):
        told = phone.type(*words, "--date", day, code=2)
        assert f"{day!r} is not a date: write it like 2026-09-28" in told


def test_status_without_a_log_says_how_to_begin(phone: Phone) -> None:
    log_path(phone.folder).unlink()
    assert "no notes yet" in phone.type("status", str(phone.folder), "--date", DAY, code=2)
    assert not log_path(phone.folder).exists()


def test_status_in_words_names_trucks_yards_and_gaps(phone: Phone) -> None:
    phone.note("started", "T1", "-a", "06:30")
    phone.note("fed", "elm", "10/10gal", "-t", "T1", "-a", "10:00")
    told = phone.type("status", str(phone.folder), "--date", DAY, "--now", "10:01")
    for words in (
        "Truck T1: working",
        "left Elm hill (elm) at 10:00",
        "part",
        "colonies of a yard still wait",
    ):
        assert words in told


def test_status_says_since_when_a_truck_is_silent_and_where_it_is_taken_to_be(phone: Phone) -> None:
    route = phone.plan.routes[0]
    stop = next(s for s in route.stops if s.kind == "yard")
    phone.note("started", route.truck_id, "-a", f"{route.stops[0].leave:%H:%M}")
    phone.note("arrived", stop.place_id, "-t", route.truck_id, "-a", f"{stop.arrive:%H:%M}")
    late = stop.leave + timedelta(minutes=45)
    said = phone.type("status", str(phone.folder), "--date", DAY, "--now", f"{late:%H:%M}")
    assert f"NOTHING HEARD since {stop.arrive:%H:%M}: taken to be still at " in said
    assert f"({stop.place_id})" in said.partition("NOTHING HEARD")[2].partition("\n")[0]
    soon = phone.type("status", str(phone.folder), "--date", DAY, "--now", f"{stop.leave:%H:%M}")
    assert f"NOTHING HEARD since {stop.arrive:%H:%M}" not in soon


def test_every_verb_and_option_of_note_is_documented() -> None:
    page = (ROOT / "docs" / "day-log.md").read_text(encoding="utf-8")
    for name, command in commands().items():
        assert re.search(rf"`{name}[ `]", page), name
        for param in command.params:
            for option in param.opts:
                if option.startswith("--") and option != "--help":
                    assert option in page, f"{name} {option}"


def test_events_keep_what_was_typed(phone: Phone) -> None:
    phone.note("fed", "elm", "16/30gal", "-w", "two words", "-a", "10:00")
    with DayLog(log_path(phone.folder)) as log:
        assert log.events()[-1].said == "fed elm 16/30gal --words 'two words' --at 10:00"


def test_what_wash_downs_took_goes_into_the_settings_only_when_told(phone: Phone) -> None:
    toml = phone.folder / "operation.toml"
    before = "# our own comment\n" + toml.read_text(encoding="utf-8")
    toml.write_text(before, encoding="utf-8")
    for hour in range(10, 15):
        phone.note("arrived", "home", "-t", "T1", "-a", f"{hour}:00")
        phone.note("washed", "-t", "T1", "-a", f"{hour}:41")
    told = phone.type("learn", str(phone.folder))
    assert "work.wash_min: 30 min now, 41 min by 5 measurements" in told
    assert "few data" not in told
    assert toml.read_text(encoding="utf-8") == before
    told = phone.type("learn", str(phone.folder), "--apply")
    assert "[work] wash_min = 41" in told
    after = toml.read_text(encoding="utf-8")
    assert after == before + "wash_min = 41\n"
    assert "Nothing to change" in phone.type("learn", str(phone.folder), "--apply")
    found = json.loads(phone.type("learn", str(phone.folder), "--json"))
    assert [p["key"] for p in found["proposals"]] == ["work.wash_s"]
    assert found["applied"] == []


def test_minutes_a_colony_go_into_the_feeders_only_when_told(phone: Phone) -> None:
    table = phone.folder / "feeders.csv"
    before = table.read_text(encoding="utf-8")
    for hour in range(10, 15):
        phone.note("arrived", "elm", "-t", "T1", "-a", f"{hour}:00")
        phone.note("fed", "elm", "16/30gal", "-t", "T1", "-a", f"{hour}:50")
    setup_min = (
        next(y.setup_s for y in read_operation(phone.folder)[0].yards.values() if y.yard_id == "elm") / 60
    )
    feeder_id = read_operation(phone.folder)[0].groups_of("elm")[0].feeder_id
    told = phone.type("learn", str(phone.folder))
    assert f"feeders.csv {feeder_id} min_per_colony" in told
    assert table.read_text(encoding="utf-8") == before
    phone.type("learn", str(phone.folder), "--apply")
    after = read_operation(phone.folder)[0].feeders[feeder_id]
    operation = read_operation(phone.folder)[0]
    hands = operation.work.hands(operation.trucks["T1"].crew)
    assert after.service_s == pytest.approx((50 - setup_min) * 60 / 16 * hands, abs=0.6)
    lines = zip(before.splitlines(), table.read_text(encoding="utf-8").splitlines(), strict=True)
    assert [a.split(",")[0] for a, b in lines if a != b] == [feeder_id]
    assert "Nothing to change" in phone.type("learn", str(phone.folder), "--apply")


def _planned_at(phone: Phone, moment: str) -> None:
    """The log as it is when its plan was noted at a moment."""
    log_path(phone.folder).unlink()
    clock = datetime.fromisoformat(f"{moment}+00:00")
    begin = min(route.start for route in phone.plan.routes)
    with DayLog(log_path(phone.folder), lambda: clock) as log:
        log.keep_plan(phone.plan)
        log.add(Event("plan", date.fromisoformat(DAY), begin, Planned(phone.plan.plan_id)))


def _book(phone: Phone, moment: str) -> DayBook:
    return open_day(phone.folder, None, datetime.fromisoformat(f"{moment}+00:00"))


def test_a_day_that_is_written_up_after_it_was_over_is_the_day_of_its_plan(phone: Phone) -> None:
    _planned_at(phone, "2026-10-05T08:00")
    book = _book(phone, "2026-10-05T09:00")
    assert book.day == date.fromisoformat(DAY)
    assert book.moment("09:40").date() == date.fromisoformat(DAY)
    with pytest.raises(ValueRefused, match="is not today: give the time"):
        book.moment("")
    assert _book(phone, "2026-10-05T22:00").day == date(2026, 10, 5)


def test_the_morning_after_a_feeding_day_is_a_new_day(phone: Phone) -> None:
    _planned_at(phone, "2026-09-28T10:00")
    assert _book(phone, "2026-09-29T09:00").day == date(2026, 9, 29)


def test_a_plan_noted_ahead_makes_a_note_ask_which_day_is_meant(phone: Phone) -> None:
    _planned_at(phone, "2026-09-20T17:00")
    with pytest.raises(FeedroundError, match=f"--date {DAY} or --date 2026-09-20"):
        _book(phone, "2026-09-20T18:00")
    with DayLog(log_path(phone.folder)) as log:
        at = datetime(2026, 9, 20, 18, 5, tzinfo=UTC)
        log.add(Event("mix", at.date(), at, Mixed("home", "thick", 100.0)))
    assert _book(phone, "2026-09-20T18:10").day == date(2026, 9, 20)
    assert _book(phone, f"{DAY}T18:00").day == date.fromisoformat(DAY)
