"""Notes on a day whose files cannot be read: kept in the log as typed, and taken in once they can."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import typer

from routing.app.workflow.device import device_now, device_time
from routing.domain.errors import FeedroundError
from routing.files.log.database import spare_path
from routing.files.log.log import DayLog, log_path
from routing.files.log.rows import DayLogDamaged
from routing.files.writing.manifest import INPUT_NAMES
from routing.log.corrections import still_waiting
from routing.log.events import Event
from routing.log.facts import Waiting

NOT_KEPT = frozenset(
    {"planned", "list", "sheet", "import", "waiting", "withdraw", "as-planned", "not-driven"}
)
"""Verbs that lose nothing when they are refused: what they speak of is in a file, or in the log."""

_SPACE = uuid.UUID("0d2f5a52-8f0e-5d0c-9f49-2f1f4be5a9a1")
"""The name space of ids of waiting notes: the same note always gets the same one."""

_TAKING_IN: ContextVar[bool] = ContextVar("taking in what waits", default=False)


@dataclass(frozen=True)
class Settled:
    """What became of the notes that waited: lines on those taken in, and on those that wait on."""

    taken: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


def kept(folder: Path, day: date | None, verb: str, words: Sequence[str]) -> str:
    """Keep a note that could not be taken; what to say about it, nothing where there is nothing to keep."""
    if _TAKING_IN.get() or verb in NOT_KEPT or not _is_operation(folder):
        return ""
    note_id, bare = _id_of(words)
    now = device_now()
    name = str(uuid.uuid5(_SPACE, note_id))
    event = Event(name, day or now.astimezone().date(), now, Waiting(bare, note_id), said=" ".join(bare))
    try:
        path = _keep(folder, event)
    except FeedroundError as error:
        return f"The note was NOT recorded and could not be saved: write it down. {error}"
    return (
        f"The note counts only when the files are mended, but it is not lost: it is kept as typed in {path}. "
        f"The next note takes it in, or: feedround note {folder} waiting"
    )


def _is_operation(folder: Path) -> bool:
    """Whether anything of an operation is there: a slip in the name of a folder makes no log in it."""
    home = log_path(folder).parent
    return home.is_dir() and (
        any((home / name).exists() for name in INPUT_NAMES) or any(home.glob("*.[xX][lL][sS][xX]"))
    )


def _keep(folder: Path, event: Event) -> Path:
    """Add a waiting note to the log, or beside it where the log is damaged."""
    for path in (log_path(folder), spare_path(folder)):
        try:
            with DayLog(path) as log:
                if log.event(event.event_id) is None:
                    log.add(event)
            return path
        except DayLogDamaged:
            if path == spare_path(folder):
                raise
    raise AssertionError("the last of the paths returns or raises")


def _id_of(words: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    """The id that was typed with a note, or a new one, and the words without it."""
    found, bare = "", list(words)
    for at, word in enumerate(words):
        if word == "--":
            break
        if word == "--id" and at + 1 < len(words):
            found, bare = words[at + 1], [*words[:at], *words[at + 2 :]]
            break
        if word.startswith("--id="):
            found, bare = word.removeprefix("--id="), [*words[:at], *words[at + 1 :]]
            break
    try:
        return str(uuid.UUID(found.strip())), tuple(bare)
    except ValueError:
        return str(uuid.uuid4()), tuple(words)


def settle(group: Any, folder: Path) -> Settled:
    """Take in the notes that wait, as if typed at their time; what is refused waits on.

    The same note twice adds nothing, for each has an id of its own. ``group``: the command ``note``.
    Nothing is done while a note that waited is being taken in.
    """
    if _TAKING_IN.get() or not (log_path(folder).exists() or spare_path(folder).exists()):
        return Settled()
    taken, refused = [], []
    token = _TAKING_IN.set(True)
    try:
        for event in _waiting(folder):
            assert isinstance(event.fact, Waiting)
            line = " ".join(event.fact.words)
            if why := _take(group, folder, event, event.fact):
                refused.append(f"{line} (id {event.event_id[:8]}): {why}")
            else:
                taken.append(line)
    finally:
        _TAKING_IN.reset(token)
    return Settled(tuple(taken), tuple(refused))


def _waiting(folder: Path) -> tuple[Event, ...]:
    """The notes that wait; those that were kept beside a damaged log are brought into the sound one."""
    with DayLog(log_path(folder)) as log:
        if spare_path(folder).exists():
            with DayLog(spare_path(folder)) as spare:
                beside = spare.events()
            log.add_all([event for event in beside if log.event(event.event_id) is None])
        return still_waiting(log.events())


def _take(group: Any, folder: Path, event: Event, note: Waiting) -> str:
    """Type a note again for its crew; why it is refused, nothing where it is taken."""
    options = ["--id", note.note_id]
    words = list(note.words)
    end = words.index("--") if "--" in words else len(words)
    try:
        with device_time(event.at):
            group.main(
                [str(folder), *words[:end], *options, *words[end:]], prog_name="note", standalone_mode=False
            )
    except FeedroundError as error:
        return str(error)
    except Exception as error:
        # What the command line itself does not understand: a slip of the thumb in a word or option.
        return getattr(error, "message", "") or type(error).__name__
    return ""


def take_waiting(group: Any, folder: Path) -> list[str]:
    """Take in the notes that wait, and say which. Raises FeedroundError when some are refused, with why."""
    found = settle(group, folder)
    count = len(found.taken) + len(found.refused)
    if not count:
        return ["No note waits."]
    lines = [f"{len(found.taken)} of {count} notes that waited were taken in."]
    if found.refused:
        raise FeedroundError("\n".join([*lines, *wait_on(folder, found)]))
    return lines


def wait_on(folder: Path, found: Settled) -> list[str]:
    """What to say of the notes that wait on."""
    if not found.refused:
        return []
    remedy = f"Note them anew, rightly, with --corrects ID, or: feedround note {folder} withdraw ID"
    return [*found.refused, f"These wait on. {remedy}"]


def settle_aloud(group: Any, folder: Path) -> None:
    """Take in the notes that wait, and tell of it on standard error."""
    found = settle(group, folder)
    if found.taken:
        typer.echo(f"Recorded, as typed earlier: {'; '.join(found.taken)}", err=True)
    for line in wait_on(folder, found):
        typer.echo(line, err=True)
