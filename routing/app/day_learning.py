"""Learn from the day log, and put what was learned into operation.toml when told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from routing.app.day_book import all_events
from routing.app.workflow import gather
from routing.domain.day_learn import Lessons, Proposal, learn
from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.files.atomic import write_atomic
from routing.files.operation_folder import read_operation
from routing.files.settings_edit import edited

NO_CHANGE = 0.01
"""A proposal within one part in a hundred of the value there is changes nothing."""


@dataclass(frozen=True)
class Learned:
    """What the log of an operation teaches."""

    operation: Operation
    lessons: Lessons


def learned(folder: Path, first: date | None = None, last: date | None = None) -> Learned:
    """What the feeding dates from ``first`` to ``last`` teach.

    Raises FeedroundError when nothing was noted.
    """
    operation = gather(folder).operation
    events, plans = all_events(folder, first, last)
    return Learned(operation, learn(operation, events, plans))


def apply_lessons(folder: Path, lessons: Lessons) -> tuple[str, ...]:
    """Change operation.toml as proposed, whole or not at all; the lines as they then stand.

    Raises FeedroundError when there is no such file, or the changed one could not be read.
    """
    path = (folder.parent if folder.suffix.lower() == ".xlsx" else folder) / "operation.toml"
    chosen = [p for p in lessons.proposals if p.applies and _differs(p)]
    if not chosen:
        return ()
    try:
        # Line endings as they are: universal newlines would change every line of a file from Windows.
        before = path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FeedroundError(f"{path}: cannot be read ({error}): change the settings by hand") from error
    operation, text, lines = gather(folder).operation, before, []
    for proposal in chosen:
        section, _, name = proposal.key.partition(".")
        text, line = edited(text, section, name, proposal.proposed, operation.units)
        lines.append(f"[{section}] {line}")
    _write(folder, path, before, text)
    return tuple(lines)


def _write(folder: Path, path: Path, before: str, text: str) -> None:
    try:
        write_atomic(path, text)
    except OSError as error:
        raise FeedroundError(f"{path}: cannot write there ({error.strerror})") from error
    try:
        read_operation(folder)
    except FeedroundError:
        write_atomic(path, before)
        raise


def _differs(proposal: Proposal) -> bool:
    return abs(proposal.proposed - proposal.now) > NO_CHANGE * max(abs(proposal.now), 0.1)
