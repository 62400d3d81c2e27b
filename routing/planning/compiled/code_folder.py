"""Where the machine code of the search is kept, and whether it has been made: asked without the compiler.

The compiler keeps code by the file that asks for it, its place and time, and does not see when a file that it
calls has changed: the folder is named after all of these.
"""

from __future__ import annotations

import hashlib
import os
import platform
import subprocess
import sys
import tempfile
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

PLAIN = "FEEDROUND_PLAIN"
"""Environment variable: set to search by the plain code alone."""

HERE = Path(__file__).parent
LONGEST_S = 1800.0


@cache
def code_folder() -> Path | None:
    """The folder for these sources, this compiler, Python and processor; None where there is no compiler."""
    try:
        compiler = version("numba")
    except PackageNotFoundError:
        return None
    digest = hashlib.sha256()
    for file in sorted((*HERE.glob("*.py"), *HERE.parent.glob("bound_*.py"))):
        digest.update(f"{file} {file.stat().st_mtime_ns}".encode() + file.read_bytes())
    digest.update("|".join((compiler, sys.version, platform.machine(), platform.processor())).encode())
    return _home() / f"search-{digest.hexdigest()[:16]}"


def _home() -> Path:
    """The user's cache; where none can be written, a folder for temporary files."""
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "feedround"
    try:
        base.mkdir(parents=True, exist_ok=True)
    except OSError:
        return Path(tempfile.gettempdir()) / "feedround"
    return base if os.access(base, os.W_OK) else Path(tempfile.gettempdir()) / "feedround"


def ready() -> bool:
    """Whether the machine code is there and wanted."""
    folder = code_folder()
    return folder is not None and PLAIN not in os.environ and (folder / "ready").exists()


def can_be_made() -> bool:
    """Whether there is a compiler, and machine code is wanted and not there."""
    return code_folder() is not None and PLAIN not in os.environ and not ready()


def make() -> str:
    """Compile the search in a process of its own, about a minute; what went wrong, if anything."""
    command = [sys.executable, "-c", "from routing.planning.compiled.make import main; main()"]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"{error!r:.200}"
    return "" if done.returncode == 0 else (done.stderr.strip().splitlines() or ["no reason given"])[-1]
