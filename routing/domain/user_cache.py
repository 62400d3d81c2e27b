"""Where what can be made again is kept on the user's own computer, and whether it may be trusted there."""

from __future__ import annotations

import logging
import os
import stat
from functools import cache
from pathlib import Path

PLACE = "FEEDROUND_CACHE"
"""Environment variable: another folder; ``off`` keeps no tables of drives."""

OFF = "off"

_LOG = logging.getLogger(__name__)


def user_cache() -> Path | None:
    """The user's own cache, whether it is there or not; None where the user has no home."""
    said = os.environ.get(PLACE, "")
    if said and said.lower() != OFF:
        return Path(said)
    try:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    except RuntimeError:
        return None
    return base / "feedround"


def own_folder(folder: Path) -> Path | None:
    """Return the folder, links resolved and made where it is missing, if nobody else can write to it.

    None where it cannot be made, or where somebody else owns it, a folder above it, or may write to one of
    them: what others put there could be read, or run, in place of what was kept. That is logged once.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        real = folder.resolve(strict=True)
        fault = next((f"{part} {why}" for part in (real, *real.parents) if (why := _fault(part, real))), "")
    except OSError:
        return None
    if fault:
        _refuse(folder, fault)
        return None
    return real


def _fault(part: Path, folder: Path) -> str:
    """Why a folder on the way to ``folder``, or that one itself, lets others write there; else nothing."""
    if not hasattr(os, "getuid"):
        return ""  # Windows keeps a user's profile from others by itself.
    found = part.stat()
    if not stat.S_ISDIR(found.st_mode):
        return "is no folder"
    if found.st_uid not in (os.getuid(), 0):
        return "belongs to another user"
    # In a folder for temporary files others may add, but not rename or remove, what is ours.
    if found.st_mode & stat.S_ISVTX and part != folder:
        return ""
    # A group with the user's own number is by custom the user's alone.
    private = found.st_gid in (found.st_uid, 0)
    if found.st_mode & stat.S_IWOTH or (found.st_mode & stat.S_IWGRP and not private):
        return "can be written to by other users"
    return ""


@cache
def _refuse(folder: Path, fault: str) -> None:
    _LOG.warning(
        "%s: %s, so nothing kept there is used or added. Remove the folder or make it yours alone "
        "(chmod go-w), or name another one in %s",
        folder,
        fault,
        PLACE,
    )
