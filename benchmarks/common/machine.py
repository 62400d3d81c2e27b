"""Say what was measured where: cores, versions, the planner's own code, and if the machine was shared."""

from __future__ import annotations

import os
import platform
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from functools import cache
from queue import SimpleQueue
from typing import TypeVar

from routing.planning.machine_code.code_folder import can_be_made
from routing.planning.machine_code.make import make

T = TypeVar("T")
R = TypeVar("R")

DIGEST = """
import hashlib, os, sys, pathlib
import routing.planning.engines.pyvrp_engine, routing.planning.engines.ortools_routing
import routing.planning.run.solve, routing.planning.run.worker
loaded = {m.__file__ for n, m in sys.modules.items() if n.startswith("routing.") and m.__file__}
files = sorted(loaded)
code = b"".join(pathlib.Path(f).read_bytes() for f in files) + os.environ.get("FEEDROUND_PLAIN", "").encode()
print(hashlib.sha256(code).hexdigest()[:8])
"""
SHARED_BELOW = 0.85
"""A run that had less of its core than this share of the time ran on a shared machine."""


@cache
def planner_code() -> str:
    """A digest of all code that a worker of the planner loads: other code, other plans."""
    done = subprocess.run([sys.executable, "-c", DIGEST], capture_output=True, check=True)
    return done.stdout.decode().strip()


def prepare() -> float:
    """Have the search compiled where it is not, so that no measurement pays for it; the seconds it took."""
    if not can_be_made():
        return 0.0
    began = time.perf_counter()
    if trouble := make():
        print(f"the search could not be compiled, plain Python is measured: {trouble}", file=sys.stderr)
    return time.perf_counter() - began


def cpu_s() -> float:
    """Processor seconds of this process and all its ended children."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)


def cores_of(jobs: int, named: Sequence[int] | None = None) -> list[int | None]:
    """A core for each job, or [None]: one job on whichever core is free.

    Ends the program where there are fewer cores than jobs: two runs on one core would measure each other.
    """
    if named is None and jobs == 1:
        return [None]
    there = sorted(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else []
    cores = list(dict.fromkeys(named)) if named else there[:jobs]
    if not set(cores) <= set(there) or len(cores) < jobs:
        raise SystemExit(f"{max(jobs, len(cores))} runs at a time need as many cores; there are {there}")
    return list(cores)


def each_on_its_core(
    work: Callable[[T], R], todo: Iterable[T], cores: Sequence[int | None]
) -> Iterator[tuple[T, R]]:
    """Do all, one at a time on each core, and give what comes of each as it is done.

    A thread keeps to its core, and processes that it starts inherit that.
    """
    free: SimpleQueue[int | None] = SimpleQueue()
    for core in cores:
        free.put(core)

    def keep() -> None:
        core = free.get()
        if core is not None:
            os.sched_setaffinity(0, {core})

    with ThreadPoolExecutor(len(cores), initializer=keep) as pool:
        running = {pool.submit(work, one): one for one in todo}
        try:
            for done in as_completed(running):
                yield running[done], done.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def python_and_cores() -> str:
    """Python's version and the number of cores."""
    return f"{os.cpu_count() or 1} cores, Python {platform.python_version()}"
