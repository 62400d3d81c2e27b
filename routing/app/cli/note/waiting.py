"""Notes on a day when files are damaged: kept as typed, and taken in when all is mended."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from routing.app.workflow.device import device_now, device_time
from routing.domain.errors import FeedroundError
from routing.files.log.waiting_notes import WaitingNote, keep_note, leave_waiting, waiting_notes

NOT_KEPT = frozenset({"planned", "list", "sheet", "import", "waiting"})
"""Verbs that lose nothing when they are refused: what they speak of is in a file."""


def kept(folder: Path, verb: str, words: Sequence[str]) -> str:
    """Keep a note that could not be taken; what to say about it, nothing where there is nothing to keep."""
    if verb in NOT_KEPT or not folder.exists():
        return ""
    event_id = str(uuid.uuid4())
    try:
        path = keep_note(folder, WaitingNote(device_now(), event_id, tuple(words)))
    except OSError as error:
        return f"The note was NOT taken, and could not be kept either ({error.strerror}): write it down."
    return (
        f"The note is not in the day log yet, but it is not lost: it was kept as typed in {path}. "
        f"When the files are mended: feedround note {folder} waiting"
    )


def take_waiting(group: Any, folder: Path) -> list[str]:
    """Take in the notes that wait, as if typed at their time. What is refused waits on.

    The same note twice adds nothing, for each has an id of its own. Raises FeedroundError when some are
    refused, with what each lacks.
    """
    notes, taken, refused = waiting_notes(folder), [], []
    for note in notes:
        words = list(note.words)
        if not any(word == "--id" or word.startswith("--id=") for word in words):
            words += ["--id", note.event_id]
        try:
            with device_time(note.typed):
                group.main([str(folder), *words], prog_name="note", standalone_mode=False)
            taken.append(" ".join(note.words))
        except FeedroundError as error:
            refused.append((note, str(error)))
        except Exception as error:
            # What the command line itself does not understand: a slip of the thumb in a word or option.
            refused.append((note, getattr(error, "message", "") or type(error).__name__))
    leave_waiting(folder, [note for note, _ in refused])
    lines = (
        [f"{len(taken)} of {len(notes)} notes that waited were taken in."] if notes else ["No note waits."]
    )
    if refused:
        lines += [f"{' '.join(note.words)}: {why}" for note, why in refused]
        lines.append("These wait on: note them anew, rightly, and delete them from the file.")
        raise FeedroundError("\n".join(lines))
    return lines
