"""The machine code is made once, by one process at a time, and by none whose asker is gone."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from routing.planning.machine_code import make as module
from routing.planning.machine_code.make import make

WAIT_S = 30.0


@pytest.fixture
def folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Where the code of these tests would be."""
    monkeypatch.setattr(module, "code_folder", lambda: tmp_path / "search-1")
    monkeypatch.setattr(module, "ready", lambda: (tmp_path / "search-1").exists())
    return tmp_path / "search-1"


def test_who_comes_second_waits_and_does_not_compile_again(
    monkeypatch: pytest.MonkeyPatch, folder: Path
) -> None:
    compiled: list[int] = []

    def compile_slowly(_options: list[str], _hear: module.Heard) -> str:
        compiled.append(1)
        time.sleep(3 * module.LOOK_S)
        folder.mkdir()
        return ""

    monkeypatch.setattr(module, "_compile", compile_slowly)
    said: list[str] = []
    askers = [threading.Thread(target=lambda: said.append(make())) for _ in range(2)]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    assert said == ["", ""]
    assert len(compiled) == 1


def test_a_compiler_that_dies_of_the_faster_way_is_asked_again_carefully(
    monkeypatch: pytest.MonkeyPatch, folder: Path
) -> None:
    asked: list[list[str]] = []

    def compile_carefully(options: list[str], _hear: module.Heard) -> str:
        asked.append(options)
        return "" if options else "it ended with -11"

    monkeypatch.setattr(module, "_compile", compile_carefully)
    assert make() == ""
    assert asked == [[], [module.CAREFULLY]]


def test_what_the_compiler_says_last_is_the_trouble(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setattr(module.sys, "executable", "/no/such/python")
    assert "No such file" in make()


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="looks for the process by its number")
def test_a_compiler_ends_when_who_asked_for_it_is_killed(tmp_path: Path) -> None:
    child = (
        "import os, time\n"
        "from routing.planning.machine_code.make import end_with_parent\n"
        "end_with_parent()\n"
        f"open({str(tmp_path / 'child')!r}, 'w').write(str(os.getpid()))\n"
        "time.sleep(600)\n"
    )
    parent = (
        "import subprocess, sys\n"
        f"subprocess.Popen([sys.executable, '-c', {child!r}], stdin=subprocess.PIPE).wait()\n"
    )
    asker = subprocess.Popen([sys.executable, "-c", parent])
    deadline = time.monotonic() + WAIT_S
    while not (tmp_path / "child").exists() or not (tmp_path / "child").read_text():
        assert time.monotonic() < deadline
        time.sleep(0.05)
    number = int((tmp_path / "child").read_text())
    asker.kill()
    asker.wait()
    while _runs(number):
        assert time.monotonic() < deadline, "the compiler outlives who asked for it"
        time.sleep(0.05)


def _runs(number: int) -> bool:
    """Whether a process runs, and is not merely waiting to be taken leave of."""
    try:
        return Path(f"/proc/{number}/stat").read_text().split()[2] != "Z"
    except FileNotFoundError:
        pass
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return not Path("/proc").exists()
