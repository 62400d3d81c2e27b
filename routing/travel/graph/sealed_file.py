"""Keep arrays in a file that is written whole, and read only when not one bit of it has changed."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from routing.domain.errors import FeedroundError

MAGIC = b"feedround roads\n"
_DIGEST = 64

MOST_BYTES = 4_000_000_000
"""A larger file is none of ours, and would fill the memory before that is known."""


class DamagedFile(FeedroundError):
    """A sealed file is not what was written."""


def write_sealed(path: Path, arrays: Mapping[str, Any], meta: Mapping[str, Any]) -> None:
    """Write arrays and a JSON value, so that a reader sees the old file or the new one.

    Raises OSError when the folder cannot be written.
    """
    buffer = io.BytesIO()
    text = json.dumps(meta, sort_keys=True).encode()
    np.savez_compressed(buffer, **arrays, meta=np.frombuffer(text, dtype=np.uint8))
    body = buffer.getvalue()
    digest = hashlib.sha256(body).hexdigest().encode()
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name[:80]}.", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            for part in (MAGIC, digest, b"\n", body):
                file.write(part)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def is_sealed(path: Path) -> bool:
    """Whether a file begins like one of ours."""
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError:
        return False


def read_sealed(path: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """The arrays and the JSON value of a file. Raises DamagedFile when a single byte differs."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise DamagedFile(f"{path}: the file is larger than any we write")
        data = path.read_bytes()
    except OSError as error:
        raise DamagedFile(f"{path}: cannot be read ({error.strerror})") from error
    head = len(MAGIC) + _DIGEST + 1
    body = memoryview(data)[head:]
    digest = data[len(MAGIC) : head - 1]
    if data[: len(MAGIC)] != MAGIC or hashlib.sha256(body).hexdigest().encode() != digest:
        raise DamagedFile(f"{path}: the file is damaged or incomplete")
    try:
        with np.load(io.BytesIO(body), allow_pickle=False) as found:
            arrays = {name: found[name] for name in found.files}
        return arrays, json.loads(arrays.pop("meta").tobytes())
    except (ValueError, KeyError, EOFError, zipfile.BadZipFile) as error:
        raise DamagedFile(f"{path}: the file is of another kind") from error


def file_digest(path: Path) -> str:
    """SHA-256 of a file. Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
