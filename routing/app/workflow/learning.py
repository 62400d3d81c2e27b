"""Learn from the day log, and put what was learned into operation.toml and feeders.csv when told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from routing.app.workflow.day_book import all_events
from routing.app.workflow.workflow import gather
from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.files.operation.folder import read_operation
from routing.files.settings.edit import edited
from routing.files.writing.atomic import write_atomic
from routing.files.writing.table_edit import edited_cell
from routing.log.learn.learn import Lessons, Proposal, learn

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
    """Change operation.toml and feeders.csv as proposed, whole or not at all; the lines as they then stand.

    Raises FeedroundError when a file is not there, or the changed ones could not be read: then all is put
    back.
    """
    home = folder.parent if folder.suffix.lower() == ".xlsx" else folder
    chosen = [p for p in lessons.proposals if _differs(p)]
    settings, feeders = [p for p in chosen if not p.row], [p for p in chosen if p.row]
    before: dict[Path, str] = {}
    after: dict[Path, str] = {}
    lines: list[str] = []
    if settings:
        path = home / "operation.toml"
        before[path] = _text(path)
        operation, after[path] = gather(folder).operation, before[path]
        for proposal in settings:
            section, _, name = proposal.key.partition(".")
            after[path], line = edited(after[path], section, name, proposal.proposed, operation.units)
            lines.append(f"operation.toml [{section}] {line}")
    path = home / "feeders.csv"
    if feeders and home == folder:
        before[path] = after[path] = _text(path)
        for proposal in feeders:
            minutes = f"{proposal.proposed / 60:.4g}"
            after[path] = edited_cell(after[path], "feeder_id", proposal.row, "min_per_colony", minutes)
            lines.append(f"feeders.csv {proposal.row} min_per_colony {minutes}")
    elif feeders:
        names = ", ".join(proposal.row for proposal in feeders)
        lines.append(f"workbooks are not edited: type min_per_colony of {names} into its feeders yourself")
    _write(folder, before, after)
    return tuple(lines)


def _text(path: Path) -> str:
    try:
        # Line endings as they are: universal newlines would change every line of a file from Windows.
        return path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FeedroundError(f"{path}: cannot be read ({error}): change the numbers by hand") from error


def _write(folder: Path, before: dict[Path, str], after: dict[Path, str]) -> None:
    written: list[Path] = []
    try:
        for path, text in after.items():
            write_atomic(path, text)
            written.append(path)
        read_operation(folder)
    except OSError as error:
        _put_back(written, before)
        raise FeedroundError(f"{error.filename}: cannot write there ({error.strerror})") from error
    except FeedroundError:
        _put_back(written, before)
        raise


def _put_back(written: list[Path], before: dict[Path, str]) -> None:
    for path in written:
        write_atomic(path, before[path])


def _differs(proposal: Proposal) -> bool:
    return abs(proposal.proposed - proposal.now) > NO_CHANGE * max(abs(proposal.now), 0.1)
