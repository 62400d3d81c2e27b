"""The tables of the day log, and the steps from each version of them to the next."""

from __future__ import annotations

import sqlite3

APPLICATION_ID = 0x46445244
"""Marks the file as a day log in its header ("FDRD")."""

_APPEND_ONLY = """
CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, 'the day log is append-only: record a correction'); END;
CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'the day log is append-only: withdraw the event'); END;
"""

_NO_REPLACE = """
CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key})
BEGIN SELECT RAISE(ABORT, 'the day log is append-only: this id is taken'); END;
"""

_EVENTS = (
    """
CREATE TABLE events (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    event_id TEXT NOT NULL UNIQUE,
    day TEXT NOT NULL,
    at TEXT NOT NULL,
    recorded TEXT NOT NULL,
    kind TEXT NOT NULL,
    truck_id TEXT NOT NULL,
    corrects TEXT NOT NULL,
    body TEXT NOT NULL,
    said TEXT NOT NULL,
    digest TEXT NOT NULL
) STRICT;
CREATE INDEX events_by_day ON events (day);
"""
    + _APPEND_ONLY.format(table="events")
    + _NO_REPLACE.format(table="events", key="event_id")
)

_PLANS = (
    """
CREATE TABLE plans (
    plan_id TEXT PRIMARY KEY,
    recorded TEXT NOT NULL,
    text TEXT NOT NULL,
    digest TEXT NOT NULL
) STRICT;
"""
    + _APPEND_ONLY.format(table="plans")
    + _NO_REPLACE.format(table="plans", key="plan_id")
)

MIGRATIONS: tuple[str, ...] = (_EVENTS, _PLANS)
"""Step n makes version n+1 of version n: 1 has the events, 2 keeps the plans beside them."""

VERSION = len(MIGRATIONS)


def version_of(connection: sqlite3.Connection) -> int:
    """The version of the tables in a file."""
    found: int = connection.execute("PRAGMA user_version").fetchone()[0]
    return found


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables to the newest version, all or nothing, whoever else tries at the same time."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for number in range(version_of(connection), VERSION):
            for statement in _statements(MIGRATIONS[number]):
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def _statements(script: str) -> list[str]:
    """The single statements of a script (``executescript`` would commit before it begins)."""
    found, part = [], ""
    for line in script.splitlines(keepends=True):
        part += line
        if part.strip() and sqlite3.complete_statement(part):
            found.append(part)
            part = ""
    return found
