"""Kill -9 at any moment loses at most the event that was not yet acknowledged; two writers lose nothing."""

from __future__ import annotations

import os
import random
import signal
import time
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from routing.files.log.database import NAME
from routing.files.log.log import DayLog
from routing.files.log.rows import DayLogError
from routing.log.events import Event
from routing.log.facts import Fed, Poured

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")

KILLS = 250


def _pour(event_id: str) -> Event:
    fact = Fed("Y1", (Poured("all", "frame2", "S67", 30, 225.0, "B1"),))
    return Event(event_id, date(2025, 9, 16), datetime(2025, 9, 16, 14, tzinfo=UTC), fact, "BIG")


def _write_for_ever(path: Path, name: str, acknowledge: int, count: int | None = None) -> None:
    """In a child: add events, and tell each one's id only once the log has taken it."""
    n = 0
    with DayLog(path) as log:
        while count is None or n < count:
            event_id = f"{name}-{n}"
            log.add(_pour(event_id))
            os.write(acknowledge, f"{event_id}\n".encode())
            n += 1


def _child(path: Path, name: str, count: int | None = None) -> tuple[int, int]:
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        status = 1
        try:
            os.close(read)
            _write_for_ever(path, name, write, count)
            status = 0
        finally:
            os._exit(status)
    os.close(write)
    return pid, read


def _told(read: int) -> list[str]:
    with os.fdopen(read, "rb") as pipe:
        return [line.decode() for line in pipe.read().split(b"\n")[:-1]]


def _longest_s(path: Path) -> float:
    """Long enough for several events on this machine as it is now; makes the log on the way."""
    with DayLog(path):
        pass
    begun = time.monotonic()
    pid, read = _child(path, "pace", 3)
    _told(read)
    os.waitpid(pid, 0)
    return min(0.1, max(0.04, 2 * (time.monotonic() - begun)))


def test_every_acknowledged_event_outlives_a_kill_at_any_moment(tmp_path: Path) -> None:
    path, chance = tmp_path / NAME, random.Random(20260928)
    longest_s = _longest_s(path)
    acknowledged: list[str] = []
    started = 0
    for number in range(KILLS):
        pid, read = _child(path, f"k{number}")
        time.sleep(chance.uniform(0.0, longest_s))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        told = _told(read)
        started += bool(told)
        acknowledged += told
        if number % 50 == 0 and path.exists():
            with DayLog(path) as log:
                assert set(acknowledged) <= {e.event_id for e in log.events()}
    with DayLog(path) as log:
        found = [e.event_id for e in log.events() if not e.event_id.startswith("pace")]
    assert set(acknowledged) <= set(found)
    assert len(found) == len(set(found))
    # What is there beyond the acknowledged was being written: at most one event a kill.
    assert len(found) - len(acknowledged) <= KILLS
    assert started > KILLS / 4, "the kills came too early to say anything"
    for left in tmp_path.glob("*.tmp*"):
        assert left.name.startswith("."), "only drafts of a log that was never made may be left"


def test_a_kill_while_the_log_is_being_made_leaves_none_or_a_whole_one(tmp_path: Path) -> None:
    chance = random.Random(5)
    made = 0
    for number in range(40):
        path = tmp_path / str(number) / NAME
        path.parent.mkdir()
        pid, read = _child(path, "first")
        time.sleep(0.005 * 100 ** chance.random())
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        told = _told(read)
        made += path.exists()
        with DayLog(path) as log:
            assert set(told) <= {e.event_id for e in log.events()}
            log.add(_pour("after"))
    assert 0 < made < 40, "the kills must fall before and after the file is in place"


def test_processes_that_make_the_log_at_once_share_it(tmp_path: Path) -> None:
    for number in range(15):
        path = tmp_path / str(number) / NAME
        path.parent.mkdir()
        children = [_child(path, name, 2) for name in ("a", "b", "c", "d")]
        told = [name for _, read in children for name in _told(read)]
        assert [os.waitpid(pid, 0)[1] for pid, _ in children] == [0] * 4
        with DayLog(path) as log:
            assert sorted(e.event_id for e in log.events()) == sorted(told)
        assert sorted(file.name for file in path.parent.iterdir()) == [NAME]


def test_two_processes_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    path, count = tmp_path / NAME, 120
    children = [_child(path, name, count) for name in ("a", "b", "c")]
    told = [_told(read) for _, read in children]
    assert [os.waitpid(pid, 0)[1] for pid, _ in children] == [0, 0, 0]
    with DayLog(path) as log:
        found = [e.event_id for e in log.events()]
    assert sorted(found) == sorted(name for names in told for name in names)
    assert len(found) == 3 * count
    for name in ("a", "b", "c"):
        own = [e for e in found if e.startswith(name)]
        assert own == [f"{name}-{n}" for n in range(count)], "each writer's events stand in its own order"


def test_processes_that_retry_one_id_record_it_once(tmp_path: Path) -> None:
    path = tmp_path / NAME
    children = [_child(path, "same", 40) for _ in range(3)]
    for _, read in children:
        assert len(_told(read)) == 40
    assert [os.waitpid(pid, 0)[1] for pid, _ in children] == [0, 0, 0]
    with DayLog(path) as log:
        assert [e.event_id for e in log.events()] == [f"same-{n}" for n in range(40)]


@pytest.mark.parametrize("room", [0, 1000, 9000, 40_000])
def test_a_full_disk_refuses_a_note_and_keeps_all_before_it(tmp_path: Path, room: int) -> None:
    """A file may grow by so many bytes and no more: what the log took is there, what it refused is not."""
    path = tmp_path / NAME
    with DayLog(path) as log:
        log.add(_pour("before"))
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        status = 1
        try:
            os.close(read)
            status = _fill_disk(path, write, path.stat().st_size + room)
        finally:
            os._exit(status)
    os.close(write)
    told = _told(read)
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0, "the log must refuse with its own error"
    with DayLog(path) as log:
        assert [event.event_id for event in log.events()] == ["before", *told]
        log.add(_pour("after"))


def _fill_disk(path: Path, write: int, limit: int) -> int:
    import resource

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    try:
        _write_for_ever(path, "full", write, 2000)
    except DayLogError:
        return 0
    return 2
