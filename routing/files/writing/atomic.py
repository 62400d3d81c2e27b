"""Write a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path


def write_atomic(path: Path, content: str | bytes) -> None:
    """Write text (UTF-8, line feeds as given) or bytes, so that a reader sees the old file or the new one.

    A temporary file in the same folder is flushed to the disk and renamed over the target; then the
    folder is flushed too. A crash leaves the old file. Raises OSError when the folder cannot be written.
    """
    target = Path(os.path.realpath(path))
    data = content.encode("utf-8") if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:80]}.", suffix=".tmp", dir=target.parent)
    try:
        _write_through(handle, data)
        os.chmod(temporary, file_mode(target))
        os.replace(temporary, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    flush_folder(target.parent)


def write_new(path: Path, data: bytes, mode: int) -> None:
    """Write a file that is not there yet, through to the disk. Raises OSError, also where it is there."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    _write_through(os.open(path, flags, 0o600), data)
    os.chmod(path, mode)


def _write_through(handle: int, data: bytes) -> None:
    try:
        left = memoryview(data)
        while left:
            # A disk that is nearly full takes a part, and refuses only the next.
            left = left[os.write(handle, left) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def file_mode(target: Path) -> int:
    """The mode a file has, or that a new one would get: a temporary one is private."""
    try:
        return target.stat().st_mode & 0o777
    except OSError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def flush_folder(folder: Path) -> None:
    """Have the names in a folder reach the disk, where the platform lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
