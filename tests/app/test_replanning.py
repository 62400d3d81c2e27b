"""The rest of a day through the day log: planned, noted, written, and checked again from its files."""

from __future__ import annotations

import json
import shutil
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from routing.app.outputs import write_outputs
from routing.app.replanning import Replanning, audit_any, replan_day
from routing.app.workflow import plan
from routing.domain.day_facts import Urgent
from routing.domain.errors import FeedroundError
from routing.files.day_log import DayLog
from routing.files.day_log_file import log_path
from routing.files.plan_json import dump_plan
from routing.planning.day import DayOptions
from routing.planning.solve import SolveOptions
from tests.planning.day_player import event, played

DAY = date(2026, 9, 28)
DEMO = Path(__file__).parents[2] / "data_demo" / "sorrel_county"
QUICK = SolveOptions(None, 4, 1, workers=1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """The demo with a log of its morning, as the crews would have noted it."""
    folder = tmp_path_factory.mktemp("day") / "county"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("day_log*"))
    made = plan(folder, DAY, DayOptions(None, QUICK)).plan
    at = datetime(2026, 9, 28, 11, 0, tzinfo=ZoneInfo(made.timezone))
    with DayLog(log_path(folder)) as log:
        log.keep_plan(made)
        log.add_all(played(made, at))
        log.add(event(made, "call", at, Urgent("Y35")))
    return folder


@pytest.fixture(scope="module")
def made(folder: Path) -> Replanning:
    return replan_day(folder, DAY, time(11, 0), QUICK)


def test_a_re_plan_is_noted_and_holds_from_its_time_on(folder: Path, made: Replanning) -> None:
    new = made.planned.plan
    assert new.replaces == made.before.plan_id
    assert new.audit.passed
    with DayLog(log_path(folder)) as log:
        kept = log.plan(new.plan_id)
        assert kept is not None
        assert dump_plan(kept) == dump_plan(new)


def test_a_re_plan_is_checked_again_by_what_was_known_when_it_was_made(
    folder: Path, made: Replanning, tmp_path: Path
) -> None:
    new = made.planned.plan
    file = tmp_path / "plan.json"
    file.write_text(dump_plan(new), encoding="utf-8")
    later = made.now + timedelta(hours=1)
    with DayLog(log_path(folder)) as log:
        log.add(event(new, "later-call", later, Urgent("Y28")))
    assert audit_any(folder, file).findings == ()
    edited = json.loads(file.read_text(encoding="utf-8"))
    edited["routes"][0]["stops"][1]["leg"]["drive_s"] += 60
    file.write_text(json.dumps(edited), encoding="utf-8")
    assert audit_any(folder, file).findings


def test_a_re_plan_that_was_only_looked_at_cannot_be_checked(folder: Path, tmp_path: Path) -> None:
    looked = replan_day(folder, DAY, time(13, 30), QUICK, record=False).planned.plan
    file = tmp_path / "plan.json"
    file.write_text(dump_plan(looked), encoding="utf-8")
    with pytest.raises(FeedroundError, match="only a re-plan that was noted there"):
        audit_any(folder, file)


def test_files_of_a_re_plan_say_what_they_replace(made: Replanning, tmp_path: Path) -> None:
    written = write_outputs(made.planned, tmp_path)
    old = made.before.plan_id
    assert f"THIS SHEET REPLACES plan {old}" in written["run_sheet_heavy.html"].read_text(encoding="utf-8")
    assert "What changed" in written["map.html"].read_text(encoding="utf-8")
    assert old in written["stops.csv"].read_text(encoding="utf-8")
