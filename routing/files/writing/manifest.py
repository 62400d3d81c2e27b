"""Tell which files of a folder are ours, and whether anybody has changed them since."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from routing.files.columns.all_tables import TABLES

NAME = ".feedround_files.json"
FORMAT = "feedround-files/1"

INPUT_NAMES = frozenset({"operation.toml", "day_log.sqlite3", *(table.file for table in TABLES)})
"""What a folder is planned from: never written over, whether it is there yet or not."""


@dataclass(frozen=True)
class Ours:
    """A file that we wrote: for which purpose, and the digests of what we wrote, the newest first."""

    purpose: str
    digests: tuple[str, ...]


def digest_of(content: bytes) -> str:
    """The digest by which a file is known again."""
    return hashlib.sha256(content).hexdigest()


def read_manifest(folder: Path) -> dict[str, Ours]:
    """The files in a folder that are ours, by name; none where the list is missing or damaged."""
    try:
        content = json.loads((folder / NAME).read_text(encoding="utf-8"))
        if content["format"] != FORMAT:
            return {}
        return {
            str(name): Ours(str(entry["purpose"]), tuple(str(digest) for digest in entry["sha256"]))
            for name, entry in content["files"].items()
            # A name that leads out of the folder is not one that we wrote.
            if Path(name).name == name
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def manifest_text(files: Mapping[str, Ours]) -> str:
    """The list of files that are ours, as it is kept in their folder under ``NAME``."""
    listed = {name: {"purpose": ours.purpose, "sha256": list(ours.digests)} for name, ours in files.items()}
    text = json.dumps({"format": FORMAT, "files": listed}, indent=1, sort_keys=True, ensure_ascii=False)
    return text + "\n"


def kept_from_us(folder: Path, name: str, ours: Ours | None, wanted: str = "") -> str:
    """Why a file may not be replaced or removed; nothing where it may, or is not there.

    ``wanted`` is the digest of what is to stand there: a file that holds just that loses nothing.
    """
    path = folder / name
    try:
        if not path.exists():
            return ""
        if not path.is_file():
            return "is no file"
        found = digest_of(path.read_bytes())
    except OSError as error:
        return f"cannot be read ({error.strerror})"
    if found == wanted or (ours is not None and found in ours.digests):
        return ""
    return "was not written by feedround" if ours is None else "was changed since feedround wrote it"
