"""A note is never lost: with damaged files it waits, and is taken in when they are mended."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from routing.app.workflow.device import device_time
from routing.files.log.log import DayLog, log_path
from routing.files.log.waiting_notes import waiting_notes, waiting_path
from tests.app.test_note import DAY, Phone, phone, planned

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


def test_a_note_with_a_damaged_table_waits_and_is_taken_in_when_mended(phone: Phone, broken: str) -> None:
    told = phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    assert "yards.csv" in told
    assert "not in the day log yet, but it is not lost" in told
    assert _fed(phone.folder) == []
    _mend(phone, broken)
    assert "1 of 1 notes that waited were taken in" in phone.type("note", str(phone.folder), "waiting")
    assert _fed(phone.folder) == ["elm"]
    assert not waiting_path(phone.folder).exists()
    assert "No note waits" in phone.type("note", str(phone.folder), "waiting")


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


def test_a_damaged_log_is_left_as_it_is_and_the_note_waits(phone: Phone) -> None:
    path = log_path(phone.folder)
    whole = path.read_bytes()
    path.write_bytes(b"no day log at all" * 100)
    told = phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    assert "not lost" in told
    assert path.read_bytes() == b"no day log at all" * 100
    path.write_bytes(whole)
    phone.type("note", str(phone.folder), "waiting")
    assert _fed(phone.folder) == ["elm"]


def test_taking_in_twice_adds_nothing_twice(phone: Phone, broken: str) -> None:
    phone.note("fed", "elm", "16/30gal", "-a", "10:40", code=2)
    kept = waiting_path(phone.folder).read_text(encoding="utf-8")
    _mend(phone, broken)
    phone.type("note", str(phone.folder), "waiting")
    waiting_path(phone.folder).write_text(kept, encoding="utf-8")
    phone.type("note", str(phone.folder), "waiting")
    assert _fed(phone.folder) == ["elm"]


def test_what_cannot_be_understood_waits_on_and_the_rest_is_taken(phone: Phone, broken: str) -> None:
    phone.note("fed", "elm", "much", "-a", "10:40", code=2)
    phone.note("fed", "oak", "6gal", "--colour", "red", "-a", "10:45", code=2)
    phone.note("skipped", "oak", "gate", 'it\'s shut, "they" say\nso', "-a", "11:00", code=2)
    _mend(phone, broken)
    told = phone.type("note", str(phone.folder), "waiting", code=2)
    assert "1 of 2 notes" in told
    assert "much" in told
    assert [note.words[2] for note in waiting_notes(phone.folder)] == ["much"]
    with DayLog(log_path(phone.folder)) as log:
        assert [event.kind for event in log.events()] == ["planned", "skipped"]


def test_a_strange_line_among_waiting_notes_is_reported(phone: Phone) -> None:
    waiting_path(phone.folder).write_text('{"typed": "noon"}\n', encoding="utf-8")
    assert "line 1: this is no note" in phone.type("note", str(phone.folder), "waiting", code=2)
    assert waiting_path(phone.folder).read_text(encoding="utf-8") == '{"typed": "noon"}\n'


def test_nothing_waits_in_a_folder_that_is_not_there(phone: Phone) -> None:
    told = phone.type("note", str(phone.folder / "none"), "fed", "elm", "1gal", code=2)
    assert "lost" not in told
    assert not (phone.folder / "none").exists()


def test_lines_of_two_telephones_stay_whole(phone: Phone, broken: str) -> None:
    for minute in range(5):
        phone.note("arrived", "elm", "-t", "T1", "-a", f"10:0{minute}", code=2)
    lines = waiting_path(phone.folder).read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["words"][0] for line in lines] == ["arrived"] * 5
    assert all(datetime.fromisoformat(json.loads(line)["typed"]).tzinfo == UTC for line in lines)
