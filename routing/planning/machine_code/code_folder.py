"""Where the machine code of the search is kept, and whether it has been made: asked without the compiler.

The compiler keeps code by the file that asks for it, its place and time, and the processor. It does not see
when a file that it calls has changed: the folder is named after all of these.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import platform
import sys
import tempfile
from collections.abc import Sequence
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from routing.domain.user_cache import own_folder, user_cache

PLAIN = "FEEDROUND_PLAIN"
"""Environment variable: set to search without machine code."""

PLANNING = Path(__file__).parent.parent
SOURCES = ("machine_code/*.py", "evaluate/rules/*.py", "search/*.py", "bound/*.py")
"""What the machine code is made of."""

POSIX = hasattr(os, "getuid")


def _versions() -> list[str]:
    return [f"{name} {version(name)}" for name in ("numba", "llvmlite", "numpy")]


def has_compiler() -> bool:
    """Whether the compiler is installed."""
    with contextlib.suppress(PackageNotFoundError):
        return bool(_versions())
    return False


@cache
def code_folder() -> Path | None:
    """The folder for these sources, this compiler, Python and processor; None where there can be none."""
    if not has_compiler():
        return None
    home = _home()
    if home is None:
        return None
    digest = hashlib.sha256()
    for file in sorted(file for pattern in SOURCES for file in PLANNING.glob(pattern)):
        digest.update(f"{file} {file.stat().st_mtime_ns}".encode() + file.read_bytes())
    digest.update("|".join((*_versions(), sys.version, *_processor())).encode())
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
    """A folder that nobody else may write: code that others put there would be run. None where there is none.

    That is the user's cache; where none can be written, a folder of the user's own for temporary files.
    """
    base = user_cache()
    if base is not None and _can_be_written(base):
        return own_folder(base)
    return own_folder(Path(tempfile.gettempdir()) / f"feedround-{os.getuid()}") if POSIX else None


def _can_be_written(folder: Path) -> bool:
    with contextlib.suppress(OSError):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return os.access(folder, os.W_OK)
    return False


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
    files = [folder / name for name in names]
    return bool(files) and all(file.exists() for file in files) and all(map(own_folder, _parents(files)))


def _parents(files: Sequence[Path]) -> set[Path]:
    return {file.parent for file in files}


def can_be_made() -> bool:
    """Whether there is a compiler, and machine code is wanted and not there."""
    return code_folder() is not None and wanted() and not ready()
