"""A day that was planned and of which nothing was noted: it is asked about, and answered by one command."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from routing.app.workflow import workflow
from routing.domain.errors import FeedroundError
from routing.domain.plan import Plan
from routing.files.log.log import DayLog, log_path
from routing.files.plan.plan_json import dump_plan, load_plan
from routing.log.corrections import in_force
from routing.log.facts import Fed, Skipped, TruckOut
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from tests.app.test_note import Phone, _tables
from tests.support.folders import TOML_US, write_folder

DAY = date(2026, 9, 28)
NEXT = DAY + timedelta(days=1)
QUICK = DayOptions(None, SolveOptions(None, 40, 1))
Typed = Callable[..., str]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An operation whose plan of the day is noted as the one that is driven, and nothing since."""
    home = tmp_path_factory.mktemp("made")
    folder = write_folder(home / "farm", _tables(), TOML_US)
    plan = workflow.plan(folder, DAY, QUICK).plan
    (home / "plan.json").write_text(dump_plan(plan), encoding="utf-8")
    return home


@pytest.fixture
def phone(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Phone:
    home = tmp_path / "home"
    shutil.copytree(made, home)
    phone = Phone(home / "farm", capsys, monkeypatch)
    phone.type("note", str(phone.folder), "planned", str(home / "plan.json"))
    return phone


def say(phone: Phone, *words: str, code: int = 0) -> str:
    return phone.type("note", str(phone.folder), "--date", str(DAY), *words, code=code)


def fed(phone: Phone) -> dict[str, float]:
    """Litres by yard that the log holds."""
    with DayLog(log_path(phone.folder)) as log:
        events = in_force(log.events(DAY, DAY))
    found: dict[str, float] = {}
    for event in events:
        if isinstance(event.fact, Fed):
            litres = sum(row.volume_l for row in event.fact.pours)
            found[event.fact.yard_id] = found.get(event.fact.yard_id, 0.0) + litres
    return found


def planned(plan: Plan) -> dict[str, float]:
    found: dict[str, float] = {}
    for route in plan.routes:
        for stop in route.stops:
            for pour in stop.pour:
                found[stop.place_id] = found.get(stop.place_id, 0.0) + pour.volume_l
    return found


def test_next_plan_asks_what_became_of_the_day_with_a_command_for_each_answer(phone: Phone) -> None:
    with pytest.raises(FeedroundError) as asked:
        workflow.plan(phone.folder, NEXT, QUICK)
    text = str(asked.value)
    for answer in ("as-planned", "not-driven", "sheet --out"):
        assert f"feedround note {phone.folder} --date {DAY} {answer}" in text
    workflow.plan(phone.folder, DAY, QUICK)


def test_plans_that_were_only_looked_at_are_no_reason_to_ask(made: Path) -> None:
    for _ in range(2):
        workflow.plan(made / "farm", DAY, QUICK)
    assert not log_path(made / "farm").exists()
    assert workflow.plan(made / "farm", NEXT, QUICK).plan.date == NEXT


def test_day_driven_as_planned_is_noted_in_one_line(phone: Phone) -> None:
    said = say(phone, "as-planned")
    assert said.count("Noted: ") == sum(len(route.stops) for route in phone.plan.routes)
    assert fed(phone) == pytest.approx(planned(phone.plan))
    again = workflow.plan(phone.folder, NEXT, QUICK).plan
    assert not planned(again).keys() & planned(phone.plan).keys()
    assert "noted already" in say(phone, "as-planned", code=2)


def test_exception_noted_before_is_kept(phone: Phone) -> None:
    yard = next(iter(planned(phone.plan)))
    say(phone, "skipped", yard, "gate", "-a", "10:00")
    say(phone, "as-planned")
    assert yard not in fed(phone)
    assert fed(phone).keys() == planned(phone.plan).keys() - {yard}


def test_exception_noted_after_takes_the_place_of_what_was_planned(phone: Phone) -> None:
    say(phone, "as-planned")
    first, second = list(planned(phone.plan))[:2]
    assert "Noted in place of" in say(phone, "skipped", first, "gate")
    assert "Noted in place of" in say(phone, "fed", second, "10gal")
    found = fed(phone)
    assert first not in found
    assert found[second] == pytest.approx(10 * 3.785411784, abs=0.01)
    with DayLog(log_path(phone.folder)) as log:
        skips = [e for e in in_force(log.events(DAY, DAY)) if isinstance(e.fact, Skipped)]
    assert len(skips) == 1


def test_day_that_was_not_driven_feeds_nobody(phone: Phone) -> None:
    say(phone, "not-driven")
    assert fed(phone) == {}
    with DayLog(log_path(phone.folder)) as log:
        out = [e.truck_id for e in in_force(log.events(DAY, DAY)) if isinstance(e.fact, TruckOut)]
    assert sorted(out) == sorted(route.truck_id for route in phone.plan.routes)
    again = workflow.plan(phone.folder, NEXT, QUICK).plan
    assert planned(again).keys() >= planned(load_plan(phone.folder.parent / "plan.json")).keys()


def test_only_the_truck_that_was_not_heard_is_asked_about(phone: Phone) -> None:
    routes = phone.plan.routes
    if len(routes) < 2:
        pytest.skip("the plan of this operation uses one truck")
    say(phone, "started", routes[0].truck_id, "-a", "07:00")
    with pytest.raises(FeedroundError, match=f"as-planned -t {routes[1].truck_id}"):
        workflow.plan(phone.folder, NEXT, QUICK)
    assert "has notes" in say(phone, "not-driven", "-t", routes[0].truck_id, code=2)
