"""Let a contestant work in a process of its own, by its own processor time, with any interpreter.

A second is a second of its processor: others at work on the machine make it wait, but take nothing from it.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import ceil
from pathlib import Path

from tests.support.instances.instance import Instance, Route

ROOT = Path(__file__).parents[2]
START_UP_S = 20.0
"""Seconds that starting, importing, reading and building may take besides the time asked for."""
LATE = 0.5
"""Share of the time asked for by which a contestant may be late before it is ended."""
STOP_S = 5.0
"""Seconds of processor time besides, for what cannot be cut short."""
WAIT = 30.0
"""How many times longer all of it may take by the clock, on a machine that others use: this ends what sleeps.
What computes without end is ended by its processor time."""


@dataclass(frozen=True)
class Task:
    """An instance to solve by itself; ``file`` is the file it was read from, where there is one.

    ``workers`` is for the planner: how many processes it would have, one a core.
    """

    instance: Instance
    file: str | None
    rounding: str
    seconds: float
    seed: int
    workers: int = 1


@dataclass(frozen=True)
class Answer:
    """Routes by vehicle (None: none came), seconds from the start of the search, and what went wrong.

    ``seconds`` are of the processor, ``clock_s`` by the clock.
    """

    routes: tuple[Route, ...] | None
    seconds: float
    trouble: str = ""
    clock_s: float = 0.0


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
    limit = START_UP_S + WAIT * (STOP_S + task.workers * task.seconds * (1 + LATE))
    try:
        out, err = process.communicate(_packed(task), timeout=limit)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        return Answer(None, limit, f"never came back: ended after {limit:.0f} s", limit)
    if process.returncode in (-signal.SIGXCPU, -signal.SIGKILL):
        most = _most_s(task)
        return Answer(None, most, f"never came back: ended after {most:.0f} s of processor time")
    if process.returncode:
        last = err.decode(errors="replace").strip().splitlines()[-1:] or [f"exit {process.returncode}"]
        return Answer(None, 0.0, f"died: {last[0]}")
    routes, seconds, clock_s = pickle.loads(out)
    return Answer(routes, seconds, "" if routes is not None else "found nothing", clock_s)


def _most_s(task: Task) -> float:
    """Processor time of a search after which it is ended."""
    return STOP_S + task.workers * task.seconds * (1 + LATE)


def _packed(task: Task) -> bytes:
    """The task without arrays, which other versions of numpy might not unpack."""
    plain = replace(task.instance, distance=task.instance.distance.tolist())  # type: ignore[arg-type]
    return pickle.dumps(replace(task, instance=plain))


def taken() -> Task:
    """The task that came on standard input."""
    import numpy as np

    task: Task = pickle.load(sys.stdin.buffer)
    return replace(task, instance=replace(task.instance, distance=np.asarray(task.instance.distance)))


def search(task: Task, work: Callable[[], Sequence[Route] | None]) -> None:
    """Do the search of a task, ended by the system where it overstays, and send its routes back.

    The system counts processor time, so that one which hangs in native code is ended too.
    """
    with contextlib.suppress(ImportError):
        import resource

        most = ceil(time.process_time() + _most_s(task))
        resource.setrlimit(resource.RLIMIT_CPU, (most, most + 1))
    began, clock = spent_s(), time.perf_counter()
    routes = work()
    give(routes, spent_s() - began, time.perf_counter() - clock)


def spent_s() -> float:
    """Processor time of this process and its ended children."""
    used = os.times()
    return time.process_time() + used.children_user + used.children_system


def give(routes: Sequence[Route] | None, seconds: float, clock_s: float) -> None:
    """Send routes back on standard output."""
    found = None if routes is None else tuple(tuple(int(stop) for stop in route) for route in routes)
    sys.stdout.buffer.write(pickle.dumps((found, seconds, clock_s)))


@cache
def version_of(package: str, python: str | None = None) -> str | None:
    """The version of a package in an environment; None where it is not there."""
    asked = f"from importlib.metadata import version; print(version({package!r}))"
    try:
        done = subprocess.run([python or sys.executable, "-c", asked], capture_output=True, timeout=60)
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.decode().strip() or None
