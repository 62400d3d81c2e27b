"""Where the machine code of the search is kept, and whether it has been made: asked without the compiler.

The compiler keeps code by the file that asks for it, its place and time, and the processor. It does not see
when a file that it calls has changed: the folder is named after all of these.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import platform
import subprocess
import sys
import tempfile
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from routing.domain.user_cache import user_cache

PLAIN = "FEEDROUND_PLAIN"
"""Environment variable: set to search by the plain code alone."""

PLANNING = Path(__file__).parent.parent
SOURCES = ("machine_code/*.py", "compiled/*.py", "bound/*.py", "search/insertion.py", "search/search.py")
"""What the machine code is made of, constants of plain modules among it."""

LONGEST_S = 1800.0


@cache
def code_folder() -> Path | None:
    """The folder for these sources, this compiler, Python and processor; None where there can be none."""
    try:
        made_by = [f"{name} {version(name)}" for name in ("numba", "llvmlite", "numpy")]
    except PackageNotFoundError:
        return None
    home = _home()
    if home is None:
        return None
    digest = hashlib.sha256()
    for file in sorted(file for pattern in SOURCES for file in PLANNING.glob(pattern)):
        digest.update(f"{file} {file.stat().st_mtime_ns}".encode() + file.read_bytes())
    digest.update("|".join((*made_by, sys.version, *_processor())).encode())
    return home / f"search-{digest.hexdigest()[:16]}"


def _processor() -> list[str]:
    """What tells one processor from another that cannot run its code."""
    told = [platform.machine(), platform.processor()]
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return told
    return told + [
        next((line for line in lines if line.startswith(key)), "") for key in ("model name", "flags")
    ]


def _home() -> Path | None:
    """The user's cache; where none can be written, a folder of the user's own for temporary files."""
    base = user_cache()
    if base is not None:
        with contextlib.suppress(OSError):
            base.mkdir(parents=True, exist_ok=True)
            if os.access(base, os.W_OK):
                return base
    return _temporary()


def _temporary() -> Path | None:
    """A folder that nobody else may write: code that others put there would be run."""
    if not hasattr(os, "getuid"):
        return None
    base = Path(tempfile.gettempdir()) / f"feedround-{os.getuid()}"
    try:
        base.mkdir(mode=0o700, exist_ok=True)
        found = base.lstat()
    except OSError:
        return None
    mine = found.st_uid == os.getuid() and not found.st_mode & 0o077 and not base.is_symlink()
    return base if mine else None


def wanted() -> bool:
    """Whether machine code may be used at all."""
    return PLAIN not in os.environ and "NUMBA_DISABLE_JIT" not in os.environ


def ready() -> bool:
    """Whether the machine code is wanted and there, to the last of its files."""
    folder = code_folder()
    if folder is None or not wanted():
        return False
    try:
        names = (folder / "ready").read_text(encoding="utf-8").splitlines()
    except OSError:
        return False
    return bool(names) and all((folder / name).exists() for name in names)


def can_be_made() -> bool:
    """Whether there is a compiler, and machine code is wanted and not there."""
    return code_folder() is not None and wanted() and not ready()


def make() -> str:
    """Compile the search in a process of its own, about a minute; what went wrong, if anything."""
    command = [sys.executable, "-c", "from routing.planning.run.compile import main; main()"]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"{error!r:.200}"
    return "" if done.returncode == 0 else (done.stderr.strip().splitlines() or ["no reason given"])[-1]
