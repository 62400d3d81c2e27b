"""Say what was measured where: cores, versions, the planner's own code, and if the machine was shared."""

from __future__ import annotations

import os
import platform
import resource
import subprocess
import sys
from functools import cache

DIGEST = """
import hashlib, sys, pathlib
import routing.planning.engine, routing.planning.solve, routing.planning.worker
files = sorted(m.__file__ for n, m in sys.modules.items() if n.startswith("routing.") and m.__file__)
print(hashlib.sha256(b"".join(pathlib.Path(f).read_bytes() for f in files)).hexdigest()[:8])
"""
SHARED_BELOW = 0.85
"""A run that had less of its core than this share of the time ran on a shared machine."""


@cache
def planner_code() -> str:
    """A digest of all code that a worker of the planner loads: other code, other plans."""
    done = subprocess.run([sys.executable, "-c", DIGEST], capture_output=True, check=True)
    return done.stdout.decode().strip()


def cpu_s() -> float:
    """Processor seconds of this process and all its ended children."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)


def stay_on(core: int | None) -> None:
    """Keep this process and its children on one core, where the system can."""
    if core is not None and hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {core})


def python_and_cores() -> str:
    """Python's version and the number of cores."""
    return f"{os.cpu_count() or 1} cores, Python {platform.python_version()}"
