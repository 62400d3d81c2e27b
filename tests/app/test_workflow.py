"""Gather, decide, apply: what every verb rests on."""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from routing.app.workflow import outputs, workflow
from routing.app.workflow.outputs import default_folder, require_writable, write_outputs
from routing.domain.errors import FeedroundError, InputError, NoPlanError
from routing.domain.plan import Plan, Unserved
from routing.files.plan.plan_json import dump_plan, load_plan
from routing.planning.plan import day
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import Progress, SolveOptions
from tests.support.face import DEMO

DAY = date(2026, 9, 28)
QUICK = DayOptions(search=SolveOptions(None, 3))


@pytest.fixture(scope="module")
def planned() -> workflow.Planned:
    return workflow.plan(DEMO, DAY, QUICK)


def test_what_is_gathered_has_every_density_and_no_problem() -> None:
    found = workflow.gather(DEMO, DAY)
    assert found.problems == ()
    assert all(s.density_kg_per_l for s in found.operation.syrups.values())


def test_a_plan_is_audited_and_has_an_id_of_its_content(planned: workflow.Planned) -> None:
    assert planned.plan.audit.passed
    assert planned.plan.audit.checks
    assert len(planned.plan.plan_id) >= 8
    assert workflow.plan(DEMO, DAY, QUICK).plan.plan_id == planned.plan.plan_id


def test_only_yards_that_are_due_make_a_plan_incomplete(planned: workflow.Planned) -> None:
    due = Unserved("Y1", "shift_full", "no time", "tomorrow", 9.0, 10, 50.0)
    enough = Unserved("Y2", "stores_enough", "enough", "nothing", 90.0, 0, 0.0)
    assert replace(planned.plan, unserved=(due, enough)).unfed == (due,)
    assert replace(planned, plan=replace(planned.plan, unserved=(enough,))).complete
    assert not replace(planned, plan=replace(planned.plan, unserved=(due,))).complete


def test_named_trucks_alone_drive_and_a_wrong_name_is_told() -> None:
    one = workflow.plan(DEMO, DAY, replace(QUICK, trucks=("light",)))
    assert {route.truck_id for route in one.plan.routes} == {"light"}
    with pytest.raises(FeedroundError, match="ghost: no such truck: this operation has heavy, light"):
        workflow.plan(DEMO, DAY, replace(QUICK, trucks=("ghost",)))


def test_progress_is_told_while_the_search_runs() -> None:
    told: list[Progress] = []
    workflow.plan(DEMO, DAY, QUICK, told.append)
    assert told[0].stage == "insertion"
    assert [p.elapsed_s for p in told] == sorted(p.elapsed_s for p in told)


def test_bad_input_is_raised_with_all_its_problems(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(DEMO, tmp_path / "op"))
    (folder / "trucks.csv").unlink()
    (folder / "syrups.csv").write_text("syrup_id,kind\nx,honey\n")
    with pytest.raises(InputError) as raised:
        workflow.need(folder, DAY)
    assert {p.file for p in raised.value.problems} >= {"trucks.csv", "syrups.csv"}


def test_a_plan_that_breaks_a_rule_is_not_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    real = day.plan_day

    def too_light(*given: object) -> Plan:
        made = real(*given)  # type: ignore[arg-type]
        return replace(made, totals=replace(made.totals, distance_m=made.totals.distance_m - 1000))

    monkeypatch.setattr(day, "plan_day", too_light)
    with pytest.raises(NoPlanError, match="breaks rules, so it is neither shown nor saved") as raised:
        workflow.plan(DEMO, DAY, QUICK)
    assert "plan_totals" in str(raised.value)


def test_what_is_written_is_read_back_and_passes(planned: workflow.Planned, tmp_path: Path) -> None:
    written = write_outputs(planned, tmp_path / "new" / "place")
    assert dump_plan(load_plan(written["plan.json"])) == dump_plan(planned.plan)
    gathered, made, report = workflow.audit_plan(DEMO, written["plan.json"])
    assert report.passed
    assert made.plan_id == planned.plan.plan_id
    assert gathered.operation.name == made.operation
    assert all(path.stat().st_size > 0 for path in written.values())


def test_when_one_file_cannot_be_made_none_is_written(
    planned: workflow.Planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> str:
        raise ValueError("no ink")

    monkeypatch.setattr(outputs, "gpx", broken)
    with pytest.raises(ValueError, match="no ink"):
        write_outputs(planned, tmp_path / "o")
    assert not (tmp_path / "o").exists()


def test_when_the_disk_fails_the_old_files_stay_whole(
    planned: workflow.Planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_outputs(planned, tmp_path)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FeedroundError, match="No space left on device"):
        write_outputs(planned, tmp_path)
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_a_folder_to_write_in_is_tried_before_it_is_made(tmp_path: Path) -> None:
    require_writable(tmp_path / "a" / "b" / "c")
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "file").touch()
    with pytest.raises(FeedroundError, match="is a file"):
        require_writable(tmp_path / "file" / "b")


def test_every_plan_leaves_the_files_that_are_looked_for_before_it_is_made(
    planned: workflow.Planned, tmp_path: Path
) -> None:
    written = write_outputs(planned, tmp_path)
    sheets = {name for name in written if name.startswith("run_sheet_")}
    assert set(written) - sheets == set(outputs.NAMES)
    require_writable(tmp_path)
    written["map.html"].write_text("mine")
    with pytest.raises(FeedroundError, match=r"map\.html was changed since feedround wrote it"):
        require_writable(tmp_path)


def test_files_land_by_the_name_of_the_operation_and_the_date() -> None:
    assert default_folder(Path("some/op"), "2026-09-28") == Path("maps/op-2026-09-28")
    assert default_folder(Path("book.xlsx"), "2026-09-28") == Path("maps/book-2026-09-28")
