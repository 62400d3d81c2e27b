"""Files are put in place all or none, and only over what we wrote and nobody changed."""

from __future__ import annotations

import json
import os
import shutil
import signal
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from routing.domain.errors import FeedroundError
from routing.files.writing import staged as staging
from routing.files.writing.manifest import INPUT_NAMES, NAME, read_manifest
from routing.files.writing.staged import LOCK, STAGE, put_file, put_files, staged
from tests.support.disk_faults import DENIED, FULL, KILLED, count_calls, disk, fail_with, lost_at

OLD = {"plan.json": "old plan", "sheet_a.html": "old a", "sheet_b.html": "old b"}
NEW = {"plan.json": "new plan", "sheet_a.html": "new a", "map.html": "new map"}
POSIX = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with an earlier set, and what its owner put beside it."""
    put_files(tmp_path / "out", "plan", OLD)
    (tmp_path / "out" / "sheet_b_signed.pdf").write_text("signed")
    return tmp_path / "out"


def _seen(folder: Path) -> dict[str, str]:
    """What somebody finds who looks into the folder."""
    return {
        path.name: path.read_text(encoding="utf-8")
        for path in folder.iterdir()
        if not path.name.startswith(".feedround")
    }


SIGNED = {"sheet_b_signed.pdf": "signed"}


def test_a_new_set_takes_the_place_of_the_earlier_one_and_of_nothing_else(folder: Path) -> None:
    put_files(folder, "plan", NEW)
    assert _seen(folder) == NEW | SIGNED
    put_files(folder, "record", {"record.csv": "rows"})
    put_files(folder, "plan", OLD)
    assert _seen(folder) == OLD | SIGNED | {"record.csv": "rows"}


@pytest.mark.parametrize("name", ["plan.json", "sheet_a.html", "sheet_b.html"])
def test_a_changed_file_is_neither_replaced_nor_removed(folder: Path, name: str) -> None:
    (folder / name).write_text("filled in")
    before = _seen(folder)
    with pytest.raises(FeedroundError, match=f"{name} was changed since feedround wrote it") as raised:
        put_files(folder, "plan", NEW)
    assert "Nothing was written. Move or rename what you want to keep, or choose another --out" in str(
        raised.value
    )
    assert _seen(folder) == before


def test_all_files_in_the_way_are_named_at_once(folder: Path) -> None:
    (folder / "map.html").write_text("somebody's")
    (folder / "plan.json").write_text("edited")
    with pytest.raises(FeedroundError) as raised:
        put_files(folder, "plan", NEW)
    assert "map.html was not written by feedround" in str(raised.value)
    assert "plan.json was changed" in str(raised.value)


def test_what_holds_the_same_already_is_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("same")
    put_files(tmp_path, "plan", {"a.txt": "same"})
    assert _seen(tmp_path) == {"a.txt": "same"}


def test_a_folder_in_the_way_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(FeedroundError, match="is no file"):
        put_files(tmp_path, "plan", {"a.txt": "x"})


@POSIX
def test_a_pipe_in_the_way_is_left_alone_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.txt")
    with pytest.raises(FeedroundError, match="is no file"):
        put_files(tmp_path, "plan", {"a.txt": "x"})


@pytest.mark.parametrize(
    "content",
    [
        "", "[]", "{", '{"format": "other/9", "files": {}}', '{"format": "feedround-files/1"}',
        '{"format": "feedround-files/1", "files": {"plan.json": 1}}',
        '{"format": "feedround-files/1", "files": []}', "[" * 100_000,
    ],
)  # fmt: skip
def test_with_a_damaged_list_nothing_is_ours(folder: Path, content: str) -> None:
    (folder / NAME).write_text(content)
    with pytest.raises(FeedroundError, match="was not written by feedround"):
        put_files(folder, "plan", NEW)
    assert _seen(folder) == OLD | SIGNED


def test_a_list_that_leads_out_of_the_folder_removes_nothing_there(folder: Path) -> None:
    outside = folder.parent / "yards.csv"
    outside.write_text("old a")
    listed = json.loads((folder / NAME).read_text())
    listed["files"]["../yards.csv"] = listed["files"]["sheet_a.html"]
    (folder / NAME).write_text(json.dumps(listed))
    put_files(folder, "plan", NEW)
    assert outside.read_text() == "old a"


@pytest.mark.parametrize("name", sorted(INPUT_NAMES | {"Yards.CSV", "bees.xlsx", "other.toml"}))
def test_the_name_of_an_input_is_refused_whether_it_is_there_or_not(tmp_path: Path, name: str) -> None:
    with pytest.raises(FeedroundError, match="is the name of an input file: choose another --out"):
        put_file(tmp_path / name, "record", "x")
    assert list(tmp_path.iterdir()) == []


@POSIX
def test_a_link_to_an_input_is_refused(tmp_path: Path) -> None:
    (tmp_path / "yards.csv").write_text("yards")
    (tmp_path / "record.csv").symlink_to(tmp_path / "yards.csv")
    with pytest.raises(FeedroundError, match="input file"):
        put_file(tmp_path / "record.csv", "record", "x")


def test_single_files_of_one_folder_do_not_take_each_other_away(tmp_path: Path) -> None:
    put_file(tmp_path / "a.csv", "record", "1")
    put_file(tmp_path / "b.csv", "record", "2")
    put_file(tmp_path / "a.csv", "record", "3")
    assert _seen(tmp_path) == {"a.csv": "3", "b.csv": "2"}


def test_what_comes_first_may_still_refuse(folder: Path) -> None:
    def refused() -> None:
        with staged(folder, "plan", NEW):
            assert _seen(folder) == OLD | SIGNED
            raise FeedroundError("too late")

    with pytest.raises(FeedroundError, match="too late"):
        refused()
    assert _seen(folder) == OLD | SIGNED
    assert not list(folder.glob(f"{STAGE}*"))


def _steps(folder: Path) -> int:
    copy = folder.parent / "count"
    shutil.copytree(folder, copy)
    return count_calls(lambda: put_files(copy, "plan", NEW))


@pytest.mark.parametrize("error", [FULL, DENIED], ids=["disk full", "no permission"])
def test_whichever_call_fails_the_folder_holds_one_whole_set(folder: Path, error: OSError) -> None:
    refused = 0
    steps = _steps(folder)
    assert steps > 30
    for at in range(1, steps + 1):
        copy = folder.parent / f"at{at}"
        shutil.copytree(folder, copy)
        told = ""
        try:
            with disk(at, fail_with(error)):
                put_files(copy, "plan", NEW)
        except FeedroundError as raised:
            told = str(raised)
            refused += 1
        assert _seen(copy) == (OLD if told else NEW) | SIGNED, at
        assert not told or (str(error.strerror) in told and "nothing was changed" in told)
        put_files(copy, "plan", NEW)
        assert _seen(copy) == NEW | SIGNED
        assert not list(copy.glob(f"{STAGE}*"))
    assert refused > steps / 2


@POSIX
def test_a_process_that_is_lost_at_any_call_leaves_no_mixture(folder: Path) -> None:
    lost = 0
    for at in range(1, _steps(folder) + 1):
        copy = folder.parent / f"at{at}"
        shutil.copytree(folder, copy)
        lost += lost_at(at, lambda copy=copy: put_files(copy, "plan", NEW)) == KILLED  # type: ignore[misc]
        seen = _seen(copy)
        assert SIGNED.items() <= seen.items()
        ours = seen.items() - SIGNED.items()
        assert ours <= OLD.items() or ours <= NEW.items(), (at, seen)
        put_files(copy, "plan", NEW)
        assert _seen(copy) == NEW | SIGNED
        assert not list(copy.glob(f"{STAGE}*"))
    assert lost > 30


def _interrupts(at: int, folder: Path) -> Callable[[], None]:
    def work() -> None:
        with disk(at, lambda: signal.raise_signal(signal.SIGINT)):
            put_files(folder, "plan", NEW)

    return work


def test_ctrl_c_at_any_call_leaves_the_old_set_or_the_new_one(folder: Path) -> None:
    ended = {"old": 0, "new": 0}
    for at in range(1, _steps(folder) + 1):
        copy = folder.parent / f"at{at}"
        shutil.copytree(folder, copy)
        try:
            _interrupts(at, copy)()
            ended["new"] += 1
            assert _seen(copy) == NEW | SIGNED
        except KeyboardInterrupt:
            ended["old"] += 1
            assert _seen(copy) == OLD | SIGNED
        assert not list(copy.glob(f"{STAGE}*"))
    assert min(ended.values()) > 5


def test_writers_of_one_folder_wait_for_each_other(tmp_path: Path) -> None:
    sets = [{f"{n}.txt": f"{n}-{i}" for i in range(3)} for n in "abcdef"]
    threads = [threading.Thread(target=put_files, args=(tmp_path, "plan", one)) for one in sets]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert _seen(tmp_path) in sets
    assert set(read_manifest(tmp_path)) == set(_seen(tmp_path))


@POSIX
def test_processes_that_write_to_one_folder_leave_one_whole_set(tmp_path: Path) -> None:
    sets = [{f"{n}.txt": f"{n}-{i}" for i in range(3)} for n in "abcd"]
    pids = []
    for one in sets:
        pid = os.fork()
        if pid == 0:
            status = 1
            try:
                for _ in range(10):
                    put_files(tmp_path, "plan", one)
                status = 0
            finally:
                os._exit(status)
        pids.append(pid)
    assert [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in pids] == [0] * 4
    assert _seen(tmp_path) in sets


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(staging, "BUSY_S", 0.05)
    with (
        staged(tmp_path, "plan", NEW),
        pytest.raises(FeedroundError, match="another feedround is writing there"),
    ):
        put_files(tmp_path, "plan", OLD)
    assert _seen(tmp_path) == {}


def test_only_the_list_and_the_lock_are_left_beside_the_files(folder: Path) -> None:
    assert {path.name for path in folder.iterdir()} - {LOCK} == {*OLD, *SIGNED, NAME}
