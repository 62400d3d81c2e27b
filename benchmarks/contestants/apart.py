"""Let a contestant work in a process of its own, under a hard deadline, with any interpreter."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from benchmarks.published.instance import Instance, Route

ROOT = Path(__file__).parents[2]
START_UP_S = 20.0
"""Seconds that starting, importing, reading and building may take besides the time asked for."""
LATE = 0.5
"""Share of the time asked for by which a contestant may be late before it is ended."""


@dataclass(frozen=True)
class Task:
    """An instance to solve by itself; ``file`` is the file it was read from, where there is one."""

    instance: Instance
    file: str | None
    rounding: str
    seconds: float
    seed: int


@dataclass(frozen=True)
class Answer:
    """Routes by vehicle (None: none came), seconds from the start of the search, and what went wrong."""

    routes: tuple[Route, ...] | None
    seconds: float
    trouble: str = ""


def ask(module: str, task: Task, python: str | None = None) -> Answer:
    """Run ``python -m module`` on a task; end it, with what it started, when it is late."""
    process = subprocess.Popen(
        [python or sys.executable, "-m", module],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "0", "OMP_NUM_THREADS": "1"},
        start_new_session=True,
    )
    limit = START_UP_S + task.seconds * (1 + LATE)
    try:
        out, err = process.communicate(_packed(task), timeout=limit)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        return Answer(None, limit, f"never came back: ended after {limit:.0f} s")
    if process.returncode:
        last = err.decode(errors="replace").strip().splitlines()[-1:] or [f"exit {process.returncode}"]
        return Answer(None, 0.0, f"died: {last[0]}")
    routes, seconds = pickle.loads(out)
    return Answer(routes, seconds, "" if routes is not None else "found nothing")


def _packed(task: Task) -> bytes:
    """The task without arrays, which other versions of numpy might not unpack."""
    plain = replace(task.instance, distance=task.instance.distance.tolist())  # type: ignore[arg-type]
    return pickle.dumps(replace(task, instance=plain))


def taken() -> Task:
    """The task that came on standard input."""
    import numpy as np

    task: Task = pickle.load(sys.stdin.buffer)
    return replace(task, instance=replace(task.instance, distance=np.asarray(task.instance.distance)))


def give(routes: Sequence[Route] | None, seconds: float) -> None:
    """Send routes back on standard output."""
    found = None if routes is None else tuple(tuple(int(stop) for stop in route) for route in routes)
    sys.stdout.buffer.write(pickle.dumps((found, seconds)))


@cache
def version_of(package: str, python: str | None = None) -> str | None:
    """The version of a package in an environment; None where it is not there."""
    asked = f"from importlib.metadata import version; print(version({package!r}))"
    try:
        done = subprocess.run([python or sys.executable, "-c", asked], capture_output=True, timeout=60)
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.decode().strip() or None
