"""Have the machine code made in a process of its own, by one process at a time."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO

from routing.planning.machine_code.code_folder import code_folder, ready

LONGEST_S = 1800.0
LOOK_S = 0.2
CAREFULLY = "--carefully"
"""Asks the compiler to work as it does by itself: slower, and for when the faster way fails."""

Heard = Callable[[float], None]
"""Hears which share of the work is done."""


def make(on_share: Heard = lambda _share: None) -> str:
    """Compile the search and the lower bound, and say what went wrong, if anything.

    Where another process is at it already, this one waits for it. The compiler ends with who asked for it.
    """
    folder = code_folder()
    if folder is None:
        return "there is no folder to keep it in"
    try:
        folder.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with _alone(folder.with_suffix(".lock")):
            if ready():
                return ""
            return _compile([], on_share) and _compile([CAREFULLY], on_share)
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"{error!r:.200}"


def _compile(options: list[str], on_share: Heard) -> str:
    """Run the compiler to its end, and say what went wrong, if anything."""
    command = [sys.executable, "-c", "from routing.planning.run.compile import main; main()", *options]
    compiler = subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    said: list[str] = []
    listener = threading.Thread(target=_listen, args=(compiler.stderr, said), daemon=True)
    timer = threading.Timer(LONGEST_S, compiler.kill)
    try:
        listener.start()
        timer.start()
        for line in compiler.stdout or ():
            with contextlib.suppress(ValueError):
                on_share(float(line))
        compiler.wait()
    finally:
        timer.cancel()
        compiler.kill()
        compiler.wait()
    listener.join()
    if compiler.returncode == 0:
        return ""
    return (said or [f"it ended with {compiler.returncode}"])[-1]


def _listen(stream: IO[str] | None, said: list[str]) -> None:
    said += [line.strip() for line in stream or () if line.strip()]


def end_with_parent() -> None:
    """End this process when the one that started it ends, however that came: its end of the pipe closes."""

    def wait() -> None:
        while os.read(0, 1024):
            pass
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


@contextlib.contextmanager
def _alone(file: Path) -> Iterator[None]:
    """Wait until no other process holds the file, and hold it. A process that ends lets go of it."""
    with file.open("a+b") as held:
        while not _locked(held):
            time.sleep(LOOK_S)
        yield


def _locked(file: IO[bytes]) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
