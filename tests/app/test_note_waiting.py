"""A note is never lost: with damaged files it waits in the log, and is taken in when they are mended."""

from __future__ import annotations

import sqlite3
import threading
import uuid
from datetime import datetime
from pathlib import Path

import pytest

from routing.app.cli.note.waiting import kept
from routing.app.workflow.device import device_time
from routing.files.log.database import spare_path
from routing.files.log.log import DayLog, log_path
from routing.files.log.rows import plan_seal
from routing.log.corrections import still_waiting
from routing.log.facts import Waiting
from tests.app.test_note import DAY, Phone, phone, planned
from tests.support.face import as_user, feedround

__all__ = ["phone", "planned"]


@pytest.fixture
def broken(phone: Phone) -> str:
    """The yards cannot be read; the text they had."""
    table = phone.folder / "yards.csv"
    before = table.read_text(encoding="utf-8")
    table.write_text(before + 'new,"', encoding="utf-8")
    return before


def _mend(phone: Phone, before: str) -> None:
    (phone.folder / "yards.csv").write_text(before, encoding="utf-8")


def _fed(folder: Path) -> list[str]:
    with DayLog(log_path(folder)) as log:
        return [event.fact.yard_id for event in log.events() if event.kind == "fed"]


def _waiting(folder: Path, path: Path | None = None) -> list[str]:
    with DayLog(path or log_path(folder)) as log:
        return [" ".join(e.fact.words) for e in still_waiting(log.events()) if isinstance(e.fact, Waiting)]


def test_a_note_with_a_damaged_table_waits_in_the_log_and_is_taken_in_when_mended(
    phone: Phone, broken: str
) -> None:
    files = {path.name for path in phone.folder.iterdir()}
    told = phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    assert "yards.csv" in told
    assert "counts only when the files are mended, but it is not lost" in told
    assert _fed(phone.folder) == []
    assert {path.name for path in phone.folder.iterdir()} == files, "no file beside the log"
    _mend(phone, broken)
    assert "1 of 1 notes that waited were taken in" in phone.type("note", str(phone.folder), "waiting")
    assert _fed(phone.folder) == ["elm"]
    assert "No note waits" in phone.type("note", str(phone.folder), "waiting")


def test_the_next_note_takes_in_what_waits(phone: Phone, broken: str) -> None:
    phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    _mend(phone, broken)
    phone.note("skipped", "oak", "gate", "-a", "11:00")
    assert _fed(phone.folder) == ["elm"]


def test_a_replan_takes_in_what_waits(phone: Phone, broken: str) -> None:
    phone.note("fed", "elm", "16/30gal", "-t", "T1", "-a", "10:40", code=2)
    _mend(phone, broken)
    feedround("replan", phone.folder, "--date", DAY, "--now", "11:20", "--look", "--iterations", "3")
    assert _fed(phone.folder) == ["elm"]


def test_status_says_that_a_note_waits(phone: Phone, broken: str) -> None:
    phone.note("fed", "elm", "much", "-a", "10:40", code=2)
    _mend(phone, broken)
    told = phone.type("status", str(phone.folder), "--date", DAY, "--now", "23:00")
    assert "a note waits, as typed, until it can be taken in" in " ".join(told.split())
    assert "elm much" in " ".join(told.split())


def test_a_note_waits_with_the_time_it_was_typed(phone: Phone, broken: str) -> None:
    typed = datetime.fromisoformat(f"{DAY}T15:20:00+00:00")
    with device_time(typed):
        phone.type("note", str(phone.folder), "fed", "elm", "16/30gal", "-t", "T1", code=2)
    _mend(phone, broken)
    phone.type("note", str(phone.folder), "waiting")
    with DayLog(log_path(phone.folder)) as log:
        fed = next(event for event in log.events() if event.kind == "fed")
    assert fed.at == typed
    assert fed.day.isoformat() == DAY


def test_a_note_typed_again_with_its_id_is_recorded_once(phone: Phone, broken: str) -> None:
    words = ("fed", "elm", "16/30gal", "-a", "10:40", "--id", str(uuid.uuid4()))
    phone.note(*words, code=2)
    phone.note(*words, code=2)
    assert len(_waiting(phone.folder)) == 1
    _mend(phone, broken)
    phone.note(*words)
    assert _waiting(phone.folder) == []
    assert "No note waits" in phone.type("note", str(phone.folder), "waiting")
    phone.note(*words)
    assert _fed(phone.folder) == ["elm"]


def test_a_damaged_log_is_left_as_it_is_and_the_note_waits_beside_it(phone: Phone) -> None:
    path = log_path(phone.folder)
    whole = path.read_bytes()
    path.write_bytes(b"no day log at all" * 100)
    told = phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    assert "not lost" in told
    assert spare_path(phone.folder).name in told
    assert path.read_bytes() == b"no day log at all" * 100
    path.write_bytes(whole)
    for _ in range(2):
        phone.type("note", str(phone.folder), "waiting")
        assert _fed(phone.folder) == ["elm"]


def test_damaged_bytes_in_a_kept_plan_are_called_damage_and_the_note_waits(phone: Phone) -> None:
    path = log_path(phone.folder)
    with sqlite3.connect(path) as raw:
        raw.execute("DROP TRIGGER plans_no_update")
        raw.execute("UPDATE plans SET text = CAST(x'7bff' AS TEXT)")
    raw.close()
    told = phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    assert "the day log is damaged" in told
    assert "check disk" not in told
    assert "not lost" in told
    assert _waiting(phone.folder, spare_path(phone.folder)) != []
    assert plan_seal("a", "b") != plan_seal("b", "a")


def test_with_both_logs_damaged_the_crew_is_told_to_write_it_down(phone: Phone) -> None:
    for path in (log_path(phone.folder), spare_path(phone.folder)):
        path.write_bytes(b"no day log at all" * 100)
    told = phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    assert "NOT recorded and could not be saved: write it down" in told


def test_what_cannot_be_understood_waits_on_until_it_is_withdrawn_or_noted_rightly(
    phone: Phone, broken: str
) -> None:
    phone.note("fed", "elm", "much", "-a", "10:40", code=2)
    phone.note("fed", "oak", "a lot", "-a", "10:50", code=2)
    phone.note("skipped", "oak", "gate", 'it\'s shut, "they" say\nso', "-a", "11:00", code=2)
    _mend(phone, broken)
    told = phone.type("note", str(phone.folder), "waiting", code=2)
    assert "1 of 3 notes" in told
    assert "much" in told
    assert len(_waiting(phone.folder)) == 2
    with DayLog(log_path(phone.folder)) as log:
        first, second = [event.event_id for event in still_waiting(log.events())]
    phone.note("withdraw", first[:8])
    phone.note("fed", "oak", "strong=18/36gal", "-a", "10:50", "--corrects", second[:8])
    assert "No note waits" in phone.type("note", str(phone.folder), "waiting")
    assert _fed(phone.folder) == ["oak"]


@pytest.mark.parametrize("folder", ["none", "."])
def test_nothing_waits_where_no_operation_is(tmp_path: Path, folder: str) -> None:
    ran = feedround("note", tmp_path / folder, "fed", "elm", "1gal")
    assert ran.code == 2
    assert "lost" not in ran.err
    assert list(tmp_path.iterdir()) == []


def test_notes_kept_while_others_are_taken_in_are_not_lost(phone: Phone, broken: str) -> None:
    """The file that once held waiting notes was removed with those added meanwhile in it."""
    _mend(phone, broken)
    told: list[str] = []

    def keep() -> None:
        for number in range(30):
            words = ("skipped", "oak", "other", f"word {number}", "-a", "11:00")
            told.append(kept(phone.folder, None, "skipped", words))

    crew = [threading.Thread(target=keep) for _ in range(2)]
    for thread in crew:
        thread.start()
    while any(thread.is_alive() for thread in crew):
        phone.type("note", str(phone.folder), "waiting")
    phone.type("note", str(phone.folder), "waiting")
    assert all("not lost" in line for line in told)
    with DayLog(log_path(phone.folder)) as log:
        assert sum(event.kind == "skipped" for event in log.events()) == len(told) == 60
        assert still_waiting(log.events()) == ()


def test_words_that_are_no_utf_8_are_noted_with_their_bytes_spelled_out(phone: Phone) -> None:
    words = ("skipped", "oak", "gate", b"T\xfcr zu".decode("utf-8", "surrogateescape"), "-t", "T1")
    ran = as_user("note", phone.folder, *words, "-a", "11:00", "--date", DAY)
    assert ran.code == 0, ran.err
    with DayLog(log_path(phone.folder)) as log:
        assert next(e for e in log.events() if e.kind == "skipped").fact.words == "T\\xfcr zu"


@pytest.mark.parametrize(("hours", "warned"), [(-5, False), (0, False), (20, True), (28, True)])
def test_a_note_ahead_of_the_device_is_taken_with_a_word(phone: Phone, hours: int, warned: bool) -> None:
    noon = datetime.fromisoformat(f"{DAY}T17:00:00+00:00")
    now = datetime.fromtimestamp(noon.timestamp() - hours * 3600, noon.tzinfo)
    with device_time(now):
        told = phone.type("note", str(phone.folder), "skipped", "oak", "gate", "--date", DAY, "-a", "12:00")
    assert (f"{hours} h 00 min ahead of this device's clock" in told) is warned
