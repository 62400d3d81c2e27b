"""The rest of a day through the day log: planned, noted, written, and checked again from its files."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from routing.app.workflow.outputs import write_outputs
from routing.app.workflow.replanning import Replanning, audit_any, replan_day
from routing.app.workflow.workflow import gather, plan
from routing.domain.errors import FeedroundError
from routing.files.log.database import log_path
from routing.files.log.log import DayLog
from routing.files.plan.plan_json import dump_plan
from routing.log.facts import DepotClosed, Fed, Planned, Urgent
from routing.log.fold.fold import day_now
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from tests.support.day_player import event, played

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


def test_before_the_crews_leave_the_whole_day_is_planned_again(tmp_path: Path) -> None:
    folder = tmp_path / "county"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("day_log*"))
    first = plan(folder, DAY, DayOptions(None, QUICK)).plan
    start = min(route.start for route in first.routes)
    early = start - timedelta(hours=1)
    with DayLog(log_path(folder)) as log:
        log.keep_plan(first)
        log.add(event(first, "planned", start, Planned(first.plan_id)))
        log.add(event(first, "shut", early, DepotClosed("siding")))
    made = replan_day(folder, DAY, early.timetz().replace(tzinfo=None), QUICK)
    new = made.planned.plan
    assert new.replaces == first.plan_id
    assert new.audit.passed
    assert {route.truck_id for route in new.routes} == {route.truck_id for route in first.routes}
    assert all(route.stops[0].kind == "start" and route.stops[0].fill for route in new.routes)
    assert all(stop.place_id != "siding" for route in new.routes for stop in route.stops if stop.fill)
    assert not {w.code for w in new.warnings} & {"silent", "passed_by", "break_overdue"}
    told = [change.text for change in new.changes if change.code == "tell"]
    assert all(" loads at " in text for text in told)
    file = tmp_path / "plan.json"
    file.write_text(dump_plan(new), encoding="utf-8")
    assert audit_any(folder, file).findings == ()
    # From then on the crews drive by the new plan, with its loads.
    with DayLog(log_path(folder)) as log:
        events = log.events(DAY, DAY)
        plans = log.plans_of(events)
    route = new.routes[0]
    visit = next(stop for stop in route.stops if stop.kind == "yard")
    fed = event(new, "fed", visit.leave, Fed(visit.place_id, ()), route.truck_id)
    operation = gather(folder, DAY).operation
    state = day_now(operation, DAY, plans, [*events, replace(fed, seq=99)], visit.leave)
    assert state.plan_ids == (first.plan_id, new.plan_id)
    truck = state.trucks[route.truck_id]
    assert truck.started == route.start
    loaded = {fill.tank_id: fill.volume_l for fill in route.stops[0].fill if fill.tank_id}
    held = {tank.tank_id: tank.level_l for tank in operation.trucks[route.truck_id].tanks}
    assert all(truck.tanks[t].volume_l == pytest.approx(held[t] + loaded[t], abs=0.01) for t in loaded)


def test_files_of_a_re_plan_say_what_they_replace(made: Replanning, tmp_path: Path) -> None:
    written = write_outputs(made.planned, tmp_path)
    old = made.before.plan_id
    assert f"THIS SHEET REPLACES plan {old}" in written["run_sheet_heavy.html"].read_text(encoding="utf-8")
    assert "What changed" in written["map.html"].read_text(encoding="utf-8")
    assert old in written["stops.csv"].read_text(encoding="utf-8")
