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
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _mode(target))
        os.replace(temporary, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    _flush_folder(target.parent)


def _mode(target: Path) -> int:
    """The mode the file has, or that a new one would get: the temporary one is private."""
    try:
        return target.stat().st_mode & 0o777
    except OSError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _flush_folder(folder: Path) -> None:
    # Not every platform lets a folder be opened; the rename itself is atomic anyway.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
