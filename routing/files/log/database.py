"""Open the file of the day log: make it whole or not at all, check it, bring it up to date."""

from __future__ import annotations

import contextlib
import os
import secrets
import sqlite3
from pathlib import Path

from routing.files.log.rows import COLUMNS, FIRST, DayLogDamaged, DayLogError, plan_seal, seal
from routing.files.log.schema import APPLICATION_ID, VERSION, migrate, version_of

NAME = "day_log.sqlite3"
SPARE = "day_log_spare.sqlite3"
BUSY_S = 20.0
"""How long one writer waits for another."""


def log_path(folder: Path) -> Path:
    """Where the log of an operation lies: in its folder, or beside its workbook."""
    return (folder.parent if folder.suffix.lower() == ".xlsx" else folder) / NAME


def spare_path(folder: Path) -> Path:
    """Where notes are kept while the log itself is damaged."""
    return log_path(folder).with_name(SPARE)


def open_file(path: Path) -> sqlite3.Connection:
    """A checked connection to the log, made when there is none.

    Raises DayLogDamaged, with the file left as it is, or DayLogError when it cannot be opened.
    """
    try:
        if not path.exists():
            _create(path)
        check_file(path)
        connection = connect(path)
    except sqlite3.DatabaseError as error:
        raise refused(path, error) from error
    except OSError as error:
        raise DayLogError(
            f"{path}: the day log cannot be opened ({error.strerror}): check the folder"
        ) from error
    try:
        if version_of(connection) < VERSION:
            migrate(connection)
    except sqlite3.DatabaseError as error:
        connection.close()
        raise refused(path, error) from error
    return connection


def connect(path: Path) -> sqlite3.Connection:
    """A connection that writes through to the disk before it says so."""
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA recursive_triggers = ON")
    return connection


def _create(path: Path) -> None:
    """Make the log under another name and link it in place: nobody ever sees it half made."""
    if not path.parent.is_dir():
        raise DayLogError(f"{path.parent}: there is no such folder: name the operation folder")
    draft = path.with_name(f".{path.name}.{secrets.token_hex(6)}.tmp")
    try:
        connection = connect(draft)
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            migrate(connection)
        finally:
            connection.close()
        _put(draft, path)
    finally:
        for left in (draft, *(draft.with_name(draft.name + end) for end in ("-wal", "-shm"))):
            with contextlib.suppress(OSError):
                left.unlink()


def _put(draft: Path, path: Path) -> None:
    """Give the draft its name unless another process was first, whose file then stands."""
    try:
        os.link(draft, path)
    except FileExistsError:
        return
    except OSError:
        # A file system without links: a rename would replace, so look once more just before it.
        if not path.exists():
            os.replace(draft, path)


def check_file(path: Path) -> None:
    """Read the whole file, changing nothing. Raises DayLogDamaged when anything in it is not sound."""
    if path.stat().st_size == 0:
        raise DayLogDamaged(_damaged(path, "it is empty"))
    uri = f"{path.resolve().as_uri()}?mode=ro"
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_S, isolation_level=None)
    try:
        _check(path, connection)
    except sqlite3.OperationalError as error:
        raise refused(path, error) from error
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        raise DayLogDamaged(_damaged(path, str(error))) from error
    finally:
        connection.close()


def _check(path: Path, connection: sqlite3.Connection) -> None:
    found = connection.execute("PRAGMA application_id").fetchone()[0]
    if found != APPLICATION_ID:
        raise DayLogDamaged(_damaged(path, "it is not a day log"))
    version = version_of(connection)
    if not 1 <= version <= VERSION:
        if version < 1:
            raise DayLogDamaged(_damaged(path, "it holds no tables of a day log"))
        raise DayLogError(
            f"{path}: this day log is of version {version}, and this feedround knows versions up to "
            f"{VERSION}: use the newer feedround that wrote it"
        )
    connection.execute("BEGIN")
    problem = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if problem != "ok":
        raise DayLogDamaged(_damaged(path, problem))
    before, last = FIRST, 0
    for seq, digest, *cells in connection.execute(
        f"SELECT seq, digest, {', '.join(COLUMNS)} FROM events ORDER BY seq"
    ):
        before = seal(before, cells)
        if digest != before:
            raise DayLogDamaged(_damaged(path, f"event {seq} was changed, or the one after {last} is gone"))
        last = seq
    if version >= 2:
        for plan_id, text, digest in connection.execute("SELECT plan_id, text, digest FROM plans"):
            if digest != plan_seal(plan_id, text):
                raise DayLogDamaged(_damaged(path, f"plan {plan_id} was changed"))


def refused(path: Path, error: sqlite3.Error) -> DayLogError:
    """What a failure of SQLite means to the person who notes."""
    text = str(error)
    if "locked" in text or "busy" in text:
        return DayLogError(f"{path}: another program holds the day log: try again, with the same --id")
    spoiled = any(word in text.lower() for word in ("malformed", "decode"))
    if isinstance(error, sqlite3.OperationalError) and not spoiled:
        return DayLogError(
            f"{path}: the day log cannot be read or written ({text}): check disk and permissions"
        )
    return DayLogDamaged(_damaged(path, text))


def _damaged(path: Path, why: str) -> str:
    return (
        f"{path}: the day log is damaged ({why}). Nothing was written to it. Copy the file and those beside "
        f"it ({path.name}-wal, {path.name}-shm) to a safe place, move them away, and note on: a new log is "
        "begun; events can often be read out of the copy with the sqlite3 tool's .recover"
    )
