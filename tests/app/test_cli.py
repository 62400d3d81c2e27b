"""Every verb says what it did by its exit code, and bad input never gives a traceback."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from routing.app.cli.shared import screen as screen_module
from routing.app.workflow import workflow
from routing.domain.errors import NoPlanError
from tests.support.face import DATE, DEMO, QUICK, ROOT, as_user, feedround
from tests.support.folders import TOML_US, us_tables, write_folder


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """A copy of the demo operation to spoil."""
    return Path(shutil.copytree(DEMO, tmp_path / "op"))


def edit(file: Path, change: Callable[[list[list[str]]], list[list[str]]]) -> None:
    """Change a CSV file as rows of cells (no cell of the demo's needs quotes in the columns changed)."""
    import csv

    with file.open(newline="") as source:
        rows = list(csv.reader(source))
    with file.open("w", newline="") as target:
        csv.writer(target).writerows(change(rows))


def column(name: str, value: str) -> Callable[[list[list[str]]], list[list[str]]]:
    """Put one value into a whole column."""

    def change(rows: list[list[str]]) -> list[list[str]]:
        at = rows[0].index(name)
        return [rows[0], *([*r[:at], value, *r[at + 1 :]] for r in rows[1:])]

    return change


def test_check_of_a_sound_operation_is_done() -> None:
    ran = feedround("check", DEMO, "--date", DATE)
    assert ran.code == 0
    assert "no problem" in ran.out.lower()
    assert "Read 36 yards with 1,002 colonies, 2 trucks and 3 depots." in ran.out
    told = json.loads(feedround("check", DEMO, "--json").out)
    read = {"yards": 36, "colonies": 1002, "trucks": 2, "depots": 3}
    assert told == {"errors": [], "warnings": [], "read": read}


def test_need_tells_every_yard_in_words_and_as_json() -> None:
    assert "Chokecherry Draw" in feedround("need", DEMO, "--date", DATE).out
    told = json.loads(feedround("need", DEMO, "--date", DATE, "--json").out)
    assert told["date"] == DATE
    assert len(told["needs"]) == 36
    assert {"yard_id", "doses", "days_of_stores", "why", "reason_code"} <= set(told["needs"][0])


def test_a_plan_that_leaves_yards_in_need_ends_with_one(tmp_path: Path) -> None:
    ran = feedround("plan", DEMO, "--date", DATE, *QUICK, "--out", tmp_path / "o", "--json")
    plan = json.loads(ran.out)
    assert ran.code == 1
    assert plan["schema"] == "feedround-plan/1"
    assert plan["audit"]["passed"] is True
    written = json.loads((tmp_path / "o" / "plan.json").read_text())
    assert written == plan
    names = {file.name for file in (tmp_path / "o").iterdir()}
    assert {"plan.json", "map.html", "stops.csv", "stops.xlsx", "plan.geojson", "plan.gpx"} <= names
    assert {f"run_sheet_{r['truck_id']}.pdf" for r in plan["routes"]} <= names
    assert not [name for name in names if name.endswith(".tmp")]


def test_a_plan_that_feeds_every_yard_in_need_ends_with_nought(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "op", us_tables(), TOML_US)
    ran = feedround("plan", folder, "--date", "2026-09-15", *QUICK, "--out", tmp_path / "o")
    left = json.loads((tmp_path / "o" / "plan.json").read_text())["unserved"]
    assert {u["reason_code"] for u in left} <= {"no_permit", "stores_enough"}
    assert ran.code == (1 if any(u["reason_code"] == "no_permit" for u in left) else 0)
    assert "map.html" in ran.out


def test_a_day_on_which_no_yard_needs_anything_is_done_with_an_empty_plan(demo: Path, tmp_path: Path) -> None:
    edit(demo / "colonies.csv", column("colonies", "0"))
    ran = feedround("plan", demo, "--date", DATE, *QUICK, "--out", tmp_path / "o")
    assert ran.code == 0
    plan = json.loads((tmp_path / "o" / "plan.json").read_text())
    assert plan["routes"] == []
    assert {u["reason_code"] for u in plan["unserved"]} == {"no_colonies"}
    assert (tmp_path / "o" / "run_sheet_no_truck.pdf").exists()


def test_no_truck_that_day_is_no_plan(demo: Path, tmp_path: Path) -> None:
    def away(rows: list[list[str]]) -> list[list[str]]:
        if "available" in rows[0]:
            return column("available", "2026-09-29")(rows)
        return [[*rows[0], "available"], *([*r, "2026-09-29"] for r in rows[1:])]

    edit(demo / "trucks.csv", away)
    ran = feedround("plan", demo, "--date", DATE, *QUICK, "--out", tmp_path / "o")
    assert ran.code == 3
    assert "no truck is available on 2026-09-28" in ran.err
    assert not (tmp_path / "o").exists()


BAD_USAGE = [
    ((), "Usage"),
    (("nosuch",), "No such command"),
    (("plan", DEMO), "--date"),
    (("plan", DEMO, "--date", "tomorrow"), "tomorrow"),
    (("plan", DEMO, "--date", "2026-02-30"), "2026-02-30"),
    (("plan", DEMO, "--date", "0001-01-01"), "0001-01-01"),
    (("need", DEMO, "--date", "9998-12-31"), "9998-12-31"),
    (("plan", DEMO, "--date", DATE, "--trucks", "heavy,ghost"), "ghost: no such truck"),
    (("plan", DEMO, "--date", DATE, "--trucks", " , "), "is empty: this operation has"),
    (("plan", DEMO, "--date", DATE, "--must", "Y12,Y99"), "Y99: no such yard"),
    (("plan", DEMO, "--date", DATE, "--seconds", "0"), "--seconds"),
    (("plan", DEMO, "--date", DATE, "--seconds", "nan"), "--seconds"),
    (("plan", DEMO, "--date", DATE, "--iterations", "0"), "--iterations"),
    (("plan", DEMO, "--date", DATE, "--seed", "-1"), "--seed"),
    (("need", "/no/such/place", "--date", DATE), "no such folder"),
    (("check", ROOT / "README.md"), "no such folder or .xlsx"),
    (
        ("audit", DEMO, "/no/such/plan.json"),
        "plan.json: there is no such file: name the plan.json in the folder",
    ),
    (("audit", DEMO, DEMO), "this is a folder: name the plan.json"),
    (("audit", DEMO, ROOT / "pyproject.toml"), "not valid JSON"),
]


@pytest.mark.parametrize(("words", "told"), BAD_USAGE, ids=lambda v: "-".join(map(str, v))[-40:])
def test_bad_usage_ends_with_two_and_words(
    words: tuple[str, ...], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = feedround(*words)
    assert ran.code == 2
    assert told in " ".join((ran.out + ran.err).split())
    assert "Traceback" not in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_is_told_before_any_planning(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("planned in vain")

    monkeypatch.setattr(workflow, "plan", never)
    (tmp_path / "file").write_text("mine")
    for out in (tmp_path / "file", tmp_path / "file" / "below"):
        ran = feedround("plan", DEMO, "--date", DATE, *QUICK, "--out", out)
        assert ran.code == 2
        assert "choose another --out" in ran.err
    assert (tmp_path / "file").read_text() == "mine"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_leave_to_write_is_told(tmp_path: Path) -> None:
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o500)
    ran = feedround("plan", DEMO, "--date", DATE, *QUICK, "--out", shut / "o")
    assert ran.code == 2
    assert "may not write" in ran.err


def test_every_problem_of_bad_input_is_told_and_nothing_written(demo: Path, tmp_path: Path) -> None:
    edit(demo / "yards.csv", column("lat", "north"))
    edit(demo / "trucks.csv", column("gvwr_lb", "1"))
    ran = feedround("plan", demo, "--date", DATE, *QUICK, "--out", tmp_path / "o")
    assert ran.code == 2
    assert "yards.csv:lat: 36 rows (2-37)" in ran.err
    assert "trucks.csv:2" in ran.err
    assert "errors; nothing was written." in ran.err
    told = json.loads(feedround("plan", demo, "--date", DATE, "--json", "--out", tmp_path / "o").out)
    assert {"code", "file", "row", "column", "wrong", "remedy"} <= set(told["errors"][0])
    assert not (tmp_path / "o").exists()


def test_a_plan_the_audit_refuses_is_neither_shown_nor_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise NoPlanError("the plan that was found breaks rules")

    monkeypatch.setattr(workflow, "audited", refused)
    ran = feedround("plan", DEMO, "--date", DATE, *QUICK, "--out", tmp_path / "o")
    assert ran.code == 3
    assert "breaks rules" in ran.err
    assert ran.out == ""
    assert not (tmp_path / "o").exists()


def test_audit_passes_a_plan_and_finds_what_was_edited(tmp_path: Path) -> None:
    feedround("plan", DEMO, "--date", DATE, *QUICK, "--out", tmp_path)
    file = tmp_path / "plan.json"
    passed = feedround("audit", DEMO, file, "--json")
    assert passed.code == 0
    told = json.loads(passed.out)
    assert told["passed"] is True
    assert len(told["checks"]) > 40
    assert feedround("audit", DEMO, file).code == 0
    plan = json.loads(file.read_text())
    yard = next(s for s in plan["routes"][0]["stops"] if s["kind"] == "yard")
    yard["pour"][0]["volume_l"] += 50.0
    file.write_text(json.dumps(plan))
    found = feedround("audit", DEMO, file, "--json")
    assert found.code == 1
    assert json.loads(found.out)["findings"]
    assert feedround("audit", DEMO, file).code == 1


def test_a_plan_of_fewer_trucks_leaves_no_old_run_sheet_behind(tmp_path: Path) -> None:
    (tmp_path / "run_sheet_of_mine.txt").write_text("kept")
    feedround("plan", DEMO, "--date", DATE, *QUICK, "--out", tmp_path)
    assert (tmp_path / "run_sheet_light.pdf").exists()
    feedround("plan", DEMO, "--date", DATE, "--trucks", "heavy", *QUICK, "--out", tmp_path)
    names = {file.name for file in tmp_path.iterdir()}
    assert "run_sheet_heavy.pdf" in names
    assert not [name for name in names if "light" in name]
    assert "run_sheet_of_mine.txt" in names


def test_the_same_seed_and_iterations_write_the_same_plan(tmp_path: Path) -> None:
    for name in ("a", "b"):
        feedround("plan", DEMO, "--date", DATE, "--iterations", "20", "--seed", "3", "--out", tmp_path / name)
    assert (tmp_path / "a" / "plan.json").read_bytes() == (tmp_path / "b" / "plan.json").read_bytes()


def test_without_out_files_land_under_maps_by_name_and_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert feedround("plan", DEMO, "--date", DATE, *QUICK).code == 1
    assert (tmp_path / "maps" / f"sorrel_county-{DATE}" / "plan.json").exists()


def test_a_fault_of_the_program_is_told_in_a_line_and_in_full_when_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr(workflow, "need", broken)
    ran = feedround("need", DEMO, "--date", DATE)
    assert ran.code == 3
    assert "ZeroDivisionError: by nought" in " ".join(ran.err.split())
    assert "Traceback" not in ran.err
    monkeypatch.setenv("FEEDROUND_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        feedround("need", DEMO, "--date", DATE)


def test_ctrl_c_is_told_in_a_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(workflow, "need", stopped)
    ran = feedround("need", DEMO, "--date", DATE)
    assert ran.code == 3
    assert ran.err == "Interrupted before it was finished.\n"


def test_into_a_pipe_goes_plain_text_without_progress_or_colour(tmp_path: Path) -> None:
    ran = as_user("plan", DEMO, "--date", DATE, *QUICK, "--out", tmp_path, "--json")
    assert ran.code == 1
    assert json.loads(ran.out)["schema"] == "feedround-plan/1"
    assert ran.err == ""
    shown = as_user("plan", DEMO, "--date", DATE, *QUICK, "--out", tmp_path)
    assert "\x1b" not in shown.out + shown.err


def test_no_color_is_heeded_and_ascii_terminals_are_spoken_to_in_ascii(tmp_path: Path) -> None:
    plain = as_user("need", DEMO, "--date", DATE, env={"NO_COLOR": "1", "FORCE_COLOR": "1"})
    assert "\x1b[3" not in plain.out
    ascii_only = as_user("need", DEMO, "--date", DATE, env={"PYTHONIOENCODING": "ascii"})
    assert ascii_only.code == 0
    assert ascii_only.out.isascii()


def test_a_reader_that_goes_away_makes_no_traceback() -> None:
    code = "import sys; sys.argv[0] = 'feedround'; from routing.app.cli.cli import main; main()"
    with subprocess.Popen(
        [sys.executable, "-c", code, "need", str(DEMO), "--date", DATE],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as reader:  # fmt: skip
        assert reader.stdout is not None
        assert reader.stderr is not None
        reader.stdout.close()
        told = reader.stderr.read().decode()
    assert "Traceback" not in told
    assert "by its own fault" not in told


def test_what_a_user_typed_is_no_markup_on_any_output(capsys: pytest.CaptureFixture[str]) -> None:
    screen_module.screen().print("yards.csv:100:lat [bold]Moe's[/bold]")
    screen_module.err().print("yards.csv:100:lat [bold]Moe's[/bold]")
    shown = capsys.readouterr()
    assert shown.out == shown.err == "yards.csv:100:lat [bold]Moe's[/bold]\n"
