from __future__ import annotations

import os
from pathlib import Path

import pytest

from routing.files.writing.atomic import write_atomic


def test_text_and_bytes_are_written_as_given(tmp_path: Path) -> None:
    write_atomic(tmp_path / "a.txt", "honey é\r\n")
    write_atomic(tmp_path / "b.bin", b"\x00\xff")
    assert (tmp_path / "a.txt").read_bytes() == "honey é\r\n".encode()
    assert (tmp_path / "b.bin").read_bytes() == b"\x00\xff"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.txt", "b.bin"]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    target = tmp_path / "plan.json"
    write_atomic(target, "old")

    def fail(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(os, step, fail)
    with pytest.raises(OSError, match="disk full"):
        write_atomic(target, "new")
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


def test_the_bytes_reach_the_disk_before_the_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    steps: list[str] = []
    fsync, rename = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (steps.append("fsync"), fsync(handle))[1])
    monkeypatch.setattr(os, "replace", lambda a, b: (steps.append("replace"), rename(a, b))[1])
    write_atomic(tmp_path / "x", "y")
    assert steps[:2] == ["fsync", "replace"]


def test_others_may_read_what_they_could_read_before(tmp_path: Path) -> None:
    target = tmp_path / "sheet.html"
    write_atomic(target, "a")
    target.chmod(0o640)
    write_atomic(target, "b")
    assert target.stat().st_mode & 0o777 == 0o640
    mask = os.umask(0o022)
    os.umask(mask)
    write_atomic(tmp_path / "new", "c")
    assert (tmp_path / "new").stat().st_mode & 0o777 == 0o666 & ~mask


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real = tmp_path / "real.txt"
    real.write_text("old")
    (tmp_path / "link.txt").symlink_to(real)
    write_atomic(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink()
    assert real.read_text() == "new"


def test_no_folder_no_file(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="nowhere"):
        write_atomic(tmp_path / "nowhere" / "x", "y")
