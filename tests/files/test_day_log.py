"""The day log takes facts and never changes them, and says so when its file is not what it was."""

from __future__ import annotations

import sqlite3
import threading
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from routing.files.log.database import NAME, connect
from routing.files.log.log import DayLog, log_path, read_log
from routing.files.log.rows import DayLogDamaged, DayLogError
from routing.files.log.schema import APPLICATION_ID, MIGRATIONS, VERSION, version_of
from routing.files.plan.plan_json import dump_plan
from routing.log.events import KINDS, Event, Fact
from routing.log.facts import (
    Arrived,
    DepotClosed,
    Fed,
    Filled,
    Finished,
    Gauged,
    Left,
    Meter,
    Mixed,
    Planned,
    Poured,
    Received,
    Refilled,
    Rested,
    Skipped,
    SkipReason,
    Started,
    TruckBack,
    TruckOut,
    Urgent,
    Waiting,
    Washed,
    Withdrawn,
    YardClosed,
)
from tests.support.builders import small_case

DAY = date(2025, 9, 16)
NINE = datetime(2025, 9, 16, 14, 0, tzinfo=UTC)
FED = Fed("Y1", (Poured("strong", "frame2", "S67", 30, 225.0, "B1", lot="A-17", alive=29, light=2),))

FACTS: tuple[Fact, ...] = (
    Planned("abc", rest=True, path="maps/plan.json"),
    Started("BASE", (Filled("S67", 560.0, "B1", lot="A-17"),), as_planned=True),
    Arrived("yard:Y1"),
    Left("yard:Y2"),
    replace(FED, meter=Meter(100.0, 325.0), finished=True, words='said "so", åö\n'),
    Skipped("Y2", SkipReason.GATE_LOCKED, "chain", NINE),
    Refilled("FIELD", (Filled("S67", 15.0, None, 2),), Meter(0.0, 15.0)),
    Gauged("B1", 12.5),
    Mixed("BASE", "S67", 300.0, "M-1", "sugar lot 9"),
    Received("BASE", "S67", 3000.0, "L-2", "a supplier"),
    Washed("BASE"),
    Rested(1800),
    TruckOut("gearbox"),
    TruckBack(),
    DepotClosed("FIELD", NINE),
    YardClosed("Y3", None, "bull"),
    Urgent("Y9", 10, 4.0, "by phone"),
    Finished("BASE"),
    Withdrawn("wrong yard"),
    Waiting(("fed", "elm", '"16" é'), "0b0e1d6c-54e1-4b02-8e1f-6f1e6bb31d2f"),
)


def event(event_id: str, fact: Fact = FED, minutes: int = 0, **more: Any) -> Event:
    if isinstance(fact, Withdrawn):
        more.setdefault("corrects", "e0")
    return Event(event_id, DAY, NINE + timedelta(minutes=minutes), fact, more.pop("truck_id", "BIG"), **more)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / NAME


def test_every_kind_of_fact_comes_back_as_it_was_noted(path: Path) -> None:
    assert {type(fact) for fact in FACTS} == set(KINDS.values())
    with DayLog(path) as log:
        taken = [log.add(event(f"e{n}", fact, n, said=f"note {n}")) for n, fact in enumerate(FACTS)]
    with DayLog(path) as log:
        found = log.events()
    assert found == tuple(t.event for t in taken)
    assert [e.fact for e in found] == list(FACTS)
    assert [e.seq for e in found] == list(range(1, len(FACTS) + 1))
    assert all(e.recorded is not None for e in found)


def test_a_retry_with_the_same_id_never_doubles_a_pour(path: Path) -> None:
    with DayLog(path) as log:
        first = log.add(event("one"))
        again = log.add(event("one", minutes=7))
        assert first.new
        assert not again.new
        assert again.event == first.event
        assert len(log.events()) == 1


def test_an_id_taken_by_another_pour_is_refused_and_nothing_is_lost(path: Path) -> None:
    with DayLog(path) as log:
        log.add(event("one"))
        with pytest.raises(DayLogError, match="taken by another event"):
            log.add(event("one", replace(FED, yard_id="Y2")))
        assert [e.fact for e in log.events()] == [FED]


def test_several_notes_are_taken_together_or_not_at_all(path: Path) -> None:
    with DayLog(path) as log:
        with pytest.raises(DayLogError, match="no event"):
            log.add_all((event("one"), event("two", corrects="nothing")))
        assert log.events() == ()
        log.add_all((event("one"), event("two", corrects="one")))
        assert [e.event_id for e in log.events()] == ["one", "two"]


@pytest.mark.parametrize("settings", ["", "PRAGMA recursive_triggers = ON"])
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET body = '{}'",
        "DELETE FROM events",
        "INSERT OR REPLACE INTO events SELECT * FROM events",
        "REPLACE INTO events (event_id, day, at, recorded, kind, truck_id, corrects, body, said, digest)"
        " SELECT event_id, day, at, recorded, kind, truck_id, corrects, body, 'x', digest FROM events",
        "UPDATE plans SET text = ''",
        "DELETE FROM plans",
    ],
)
def test_nobody_changes_or_removes_what_is_recorded(path: Path, statement: str, settings: str) -> None:
    with DayLog(path) as log:
        log.add(event("one"))
        log.keep_plan(small_case().plan)
    with sqlite3.connect(path) as other:
        other.execute(settings)
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            other.execute(statement)
    with DayLog(path) as log:
        assert [e.fact for e in log.events()] == [FED]


def test_an_event_is_on_the_disk_before_it_is_acknowledged(path: Path) -> None:
    with DayLog(path):
        pass
    connection = connect(path)
    assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2
    connection.close()


def test_the_beginning_of_an_id_is_enough_where_it_is_the_only_one(path: Path) -> None:
    with DayLog(path) as log:
        log.add(event("abc1"))
        log.add(event("abd2", minutes=1))
        assert log.find("ABC").event_id == "abc1"
        for unclear in ("ab", "x", ""):
            with pytest.raises(DayLogError, match="begins with"):
                log.find(unclear)


def test_events_of_a_season_are_picked_by_date(path: Path) -> None:
    days = [DAY, DAY + timedelta(days=1), DAY + timedelta(days=9)]
    with DayLog(path) as log:
        for n, day in enumerate(days):
            log.add(replace(event(f"e{n}"), day=day))
        assert [e.day for e in log.events(DAY, days[1])] == days[:2]
        assert [e.day for e in log.events(days[1])] == days[1:]


def test_a_plan_is_kept_whole_and_only_once(path: Path) -> None:
    plan = small_case().plan
    with DayLog(path) as log:
        log.keep_plan(plan)
        log.keep_plan(plan)
        kept = log.plan(plan.plan_id)
        assert kept is not None
        assert dump_plan(kept) == dump_plan(plan)
        assert log.plan("other") is None
        assert log.plans_of([event("p", Planned(plan.plan_id)), event("q", Planned("lost"))]) == {
            plan.plan_id: kept
        }
        with pytest.raises(DayLogError, match="another plan"):
            log.keep_plan(replace(plan, seed=99))


def _flip(path: Path, found: bytes) -> None:
    data = bytearray(path.read_bytes())
    at = bytes(data).index(found)
    data[at] ^= 1
    path.write_bytes(data)


def _cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-5000])


def _drop_a_row(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("DROP TRIGGER events_no_delete")
        other.execute("DELETE FROM events WHERE seq = 2")


def _change_a_pour(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("DROP TRIGGER events_no_update")
        other.execute("UPDATE events SET body = replace(body, '225', '125') WHERE seq = 2")


DAMAGE = {
    "emptied": lambda path: path.write_bytes(b""),
    "not a database": lambda path: path.write_bytes(b"yard,litres\n" * 400),
    "another database": lambda path: (path.unlink(), sqlite3.connect(path).execute("CREATE TABLE t (a)")),
    "header gone": lambda path: path.write_bytes(b"\0" * 100 + path.read_bytes()[100:]),
    "cut short": _cut,
    "one bit of a lot": lambda path: _flip(path, b"A-17"),
    "one bit of a plan": lambda path: _flip(path, b"Tall Grass"),
    "a row dropped": _drop_a_row,
    "a pour changed": _change_a_pour,
    "noise in the middle": lambda path: path.write_bytes(
        path.read_bytes()[:4096] + b"\xa5" * 4096 + path.read_bytes()[8192:]
    ),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_log_is_reported_and_left_as_it_is(path: Path, damage: str) -> None:
    with DayLog(path) as log:
        log.keep_plan(small_case().plan)
        for n in range(5):
            log.add(event(f"e{n}", minutes=n))
    DAMAGE[damage](path)
    before = path.read_bytes()
    with pytest.raises(DayLogDamaged, match="Nothing was written"):
        DayLog(path)
    assert path.read_bytes() == before


def test_a_log_of_a_newer_feedround_is_not_touched(path: Path) -> None:
    with DayLog(path):
        pass
    with sqlite3.connect(path) as other:
        other.execute(f"PRAGMA user_version = {VERSION + 1}")
    with pytest.raises(DayLogError, match="newer feedround"):
        DayLog(path)


@pytest.mark.parametrize("version", range(1, VERSION))
def test_a_log_of_an_earlier_version_is_brought_up_to_date_with_its_events(path: Path, version: int) -> None:
    with DayLog(path.with_name("new.sqlite3")) as log:
        log.add(event("old"))
        rows = log._connection.execute("SELECT * FROM events").fetchall()
    old = sqlite3.connect(path)
    for step in MIGRATIONS[:version]:
        old.executescript(step)
    old.executemany(f"INSERT INTO events VALUES ({', '.join('?' * len(rows[0]))})", rows)
    old.executescript(f"PRAGMA user_version = {version}; PRAGMA application_id = {APPLICATION_ID}")
    old.commit()
    old.close()
    with DayLog(path) as log:
        assert [e.event_id for e in log.events()] == ["old"]
        log.add(event("new", minutes=1))
        log.keep_plan(small_case().plan)
        assert version_of(log._connection) == VERSION


def test_a_writer_waits_for_another_and_neither_loses(path: Path) -> None:
    with DayLog(path):
        pass

    def write(name: str) -> None:
        with DayLog(path) as log:
            for n in range(30):
                log.add(event(f"{name}{n}", minutes=n))

    threads = [threading.Thread(target=write, args=(name,)) for name in "abcd"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with DayLog(path) as log:
        assert len(log.events()) == 120


def test_the_log_of_a_workbook_lies_beside_it(tmp_path: Path) -> None:
    assert log_path(tmp_path / "farm.xlsx") == tmp_path / NAME
    assert log_path(tmp_path) == tmp_path / NAME
    assert read_log(tmp_path) is None


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(DayLogError, match="no such folder"):
        DayLog(tmp_path / "nowhere" / NAME)
