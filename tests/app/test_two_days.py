"""Two days of one operation: the first is driven and noted, the second goes on from where it ended."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from routing.app.workflow import workflow
from routing.app.workflow.day_book import note, open_day
from routing.app.workflow.replanning import audit_any
from routing.domain.plan import Plan
from routing.domain.ration import ReasonCode
from routing.files.log.log import DayLog, log_path
from routing.files.plan.plan_json import dump_plan
from routing.log.events import Event
from routing.log.facts import Fed, Gauged, Poured
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from tests.support.day_player import DEMO, played

FIRST, SECOND = date(2026, 9, 28), date(2026, 9, 29)
QUICK = DayOptions(None, SolveOptions(None, 200, 1))


@dataclass(frozen=True)
class TwoDays:
    """The operation, the plan of the first day, and that of the second after the first was driven."""

    folder: Path
    first: Plan
    second: workflow.Planned


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> TwoDays:
    folder = tmp_path_factory.mktemp("two-days") / "county"
    shutil.copytree(DEMO, folder)
    first = workflow.plan(folder, FIRST, DayOptions(("light",), QUICK.search)).plan
    with DayLog(log_path(folder)) as log:
        log.keep_plan(first)
        log.add_all(played(first, max(route.end for route in first.routes)))
    return TwoDays(folder, first, workflow.plan(folder, SECOND, QUICK))


def poured(plan: Plan) -> dict[str, set[str]]:
    """The groups that a plan feeds, by yard."""
    found: dict[str, set[str]] = {}
    for route in plan.routes:
        for stop in route.stops:
            found.setdefault(stop.place_id, set()).update(pour.group for pour in stop.pour)
    return {yard_id: names for yard_id, names in found.items() if names}


def test_yard_that_was_filled_yesterday_is_not_filled_today(demo: TwoDays) -> None:
    again = poured(demo.first).keys() & poured(demo.second.plan).keys()
    left = {need.yard_id: need for need in demo.second.needed.needs}
    full = {y for y in poured(demo.first) if left[y].reason_code is ReasonCode.FEEDER_FULL}
    assert len(full) >= len(poured(demo.first)) / 2
    assert not full & poured(demo.second.plan).keys()
    for yard_id in again:
        # What is fed again had small jars that are empty by morning, or was fed in part.
        assert all(dose.each_l > 0 for dose in left[yard_id].doses)


def test_yard_that_waited_is_fed_or_left_with_a_reason(demo: TwoDays) -> None:
    waited = {left.yard_id for left in demo.first.unfed if left.volume_l > 0} - poured(demo.first).keys()
    left = {one.yard_id for one in demo.second.plan.unfed}
    assert waited & poured(demo.second.plan).keys()
    assert waited <= poured(demo.second.plan).keys() | left


def test_tanks_and_stock_go_on_from_last_night(demo: TwoDays) -> None:
    morning = demo.second.needed.gathered.operation
    typed = workflow.gather(demo.folder).operation
    for route in demo.first.routes:
        last = route.stops[-1].after.tanks
        held = {tank.tank_id: tank.level_l for tank in morning.trucks[route.truck_id].tanks}
        assert held == {name: pytest.approx(level.volume_l, abs=0.01) for name, level in last.items()}
    filled: dict[tuple[str, str], float] = {}
    for route in demo.first.routes:
        for stop in route.stops:
            for fill in stop.fill:
                key = stop.place_id, fill.syrup_id
                filled[key] = filled.get(key, 0.0) + fill.volume_l
    for (depot_id, syrup_id), volume_l in filled.items():
        before = typed.depots[depot_id].stock_of(syrup_id)
        after = morning.depots[depot_id].stock_of(syrup_id)
        assert before is not None
        assert after is not None
        if before.on_hand_l is not None and after.on_hand_l is not None:
            home_l = after.on_hand_l - (before.on_hand_l - volume_l)
            assert -0.01 <= home_l <= 400.0  # full pails that came home


def test_need_and_status_agree_on_what_was_fed(demo: TwoDays) -> None:
    needed = {need.yard_id: need for need in workflow.need(demo.folder, SECOND).needs}
    assert needed == {need.yard_id: need for need in demo.second.needed.needs}
    fed = next(iter(poured(demo.first)))
    assert " fed on 28 Sep" in needed[fed].why or needed[fed].reason_code is ReasonCode.FEEDER_FULL


def test_plan_is_checked_by_the_morning_it_was_made_on(demo: TwoDays, tmp_path: Path) -> None:
    folder = tmp_path / "county"
    shutil.copytree(demo.folder, folder)
    file = tmp_path / "plan.json"
    file.write_text(dump_plan(demo.second.plan), encoding="utf-8")
    assert audit_any(folder, file).passed
    late = next(iter(poured(demo.second.plan)))
    book = open_day(folder, FIRST)
    group = book.operation.groups_of(late)[0]
    row = Poured(group.group, group.feeder_id, group.syrup_id, group.colonies, 20.0 * group.colonies, "front")
    moment = datetime.combine(FIRST, datetime.min.time(), next(iter(demo.first.routes)).start.tzinfo)
    note(book, lambda known: ("heavy", Fed(late, (row,))), at=moment + timedelta(hours=23))
    assert audit_any(folder, file).passed
    again = workflow.plan(folder, SECOND, QUICK).plan
    assert group.group not in poured(again).get(late, set())


def test_gauge_read_in_the_morning_is_what_the_plan_starts_from(demo: TwoDays, tmp_path: Path) -> None:
    folder = tmp_path / "county"
    shutil.copytree(demo.folder, folder)
    start = demo.second.plan.routes[0].start.replace(hour=5, minute=0)
    with DayLog(log_path(folder)) as log:
        log.add(Event("gauge", SECOND, start, Gauged("front", 111.0), "heavy"))
    tanks = workflow.need(folder, SECOND).gathered.operation.trucks["heavy"].tanks
    assert {tank.tank_id: tank.level_l for tank in tanks}["front"] == 111.0
