"""Keep notes that cannot be taken now, as typed, in a file beside the day log."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.files.writing.atomic import write_atomic

NAME = "day_log_waiting.jsonl"


@dataclass(frozen=True)
class WaitingNote:
    """The words of a note, when they were typed, and the id it gets when it is taken."""

    typed: datetime
    event_id: str
    words: tuple[str, ...]


def waiting_path(folder: Path) -> Path:
    """Where notes of an operation wait; beside the workbook, where it is one."""
    return (folder.parent if folder.suffix.lower() == ".xlsx" else folder) / NAME


def keep_note(folder: Path, note: WaitingNote) -> Path:
    """Add a note to those that wait; it is on the disk when this returns. Raises OSError."""
    path = waiting_path(folder)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
    try:
        # One write: two telephones at once do not tear each other's lines.
        os.write(handle, _line(note).encode())
        os.fsync(handle)
    finally:
        os.close(handle)
    return path


def waiting_notes(folder: Path) -> list[WaitingNote]:
    """The notes that wait, in the order typed. Raises FeedroundError for a line that is none."""
    path = waiting_path(folder)
    if not path.exists():
        return []
    found = []
    for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1):
        if not line.strip():
            continue
        try:
            read = json.loads(line)
            typed = datetime.fromisoformat(read["typed"])
            found.append(WaitingNote(typed, str(read["id"]), tuple(str(word) for word in read["words"])))
        except (ValueError, KeyError, TypeError) as error:
            raise FeedroundError(f"{path}, line {number}: this is no note: {line[:80]}") from error
    return found


def leave_waiting(folder: Path, notes: Sequence[WaitingNote]) -> None:
    """Let only these wait on; with none the file goes."""
    path = waiting_path(folder)
    if not notes:
        path.unlink(missing_ok=True)
        return
    write_atomic(path, "".join(_line(note) for note in notes))


def _line(note: WaitingNote) -> str:
    content = {"typed": note.typed.isoformat(), "id": note.event_id, "words": list(note.words)}
    return json.dumps(content, ensure_ascii=False) + "\n"
