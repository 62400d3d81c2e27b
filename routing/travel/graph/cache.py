"""Keep tables of drives on disk, under a name made of everything they depend on."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from routing.domain.user_cache import OFF, PLACE, own_folder, user_cache
from routing.travel.graph.sealed_file import DamagedFile, read_sealed, write_sealed

MOST_FILES = 60
"""Older files go when there are more."""


def cache_folder() -> Path | None:
    """Where tables are kept: the user's own cache, for it tells where apiaries are. None: nowhere.

    Made where it is missing; what others may write to is never used.
    """
    base = None if os.environ.get(PLACE, "").lower() == OFF else user_cache()
    return None if base is None else own_folder(base)


@cache
def code_digest() -> str:
    """Changes with any line of travel/, so that no table outlives the code that made it."""
    digest = hashlib.sha256()
    for file in sorted(Path(__file__).parents[1].rglob("*.py")):
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def key_of(parts: Iterable[str | bytes]) -> str:
    """A name for what follows from these parts and the code."""
    digest = hashlib.sha256(code_digest().encode())
    for part in parts:
        data = part.encode() if isinstance(part, str) else part
        digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()[:40]


def recall(key: str) -> dict[str, Any] | None:
    """The arrays kept under a name; None when there are none or a bit of them has changed."""
    folder = cache_folder()
    if folder is None:
        return None
    path = folder / f"{key}.table"
    try:
        arrays, meta = read_sealed(path)
    except DamagedFile:
        return None
    if meta.get("key") != key:
        return None
    with contextlib.suppress(OSError):
        os.utime(path)
    return arrays


def remember(key: str, arrays: dict[str, Any]) -> None:
    """Keep arrays under a name. A folder that cannot be written is no fault: they are made again."""
    folder = cache_folder()
    if folder is None:
        return
    with contextlib.suppress(OSError):
        write_sealed(folder / f"{key}.table", arrays, {"key": key})
        _tidy(folder)


def _tidy(folder: Path) -> None:
    files = sorted(folder.glob("*.table"), key=lambda file: (file.stat().st_mtime, file.name))
    for file in files[:-MOST_FILES]:
        file.unlink(missing_ok=True)
