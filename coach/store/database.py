"""The one file in which history and logbook are kept: SQLite in the user's data folder, for its owner only.

Never opens a file of a newer coach, and never leaves half of a change: each is one transaction.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import platformdirs

from coach.errors import Problem, SettingsError

VERSION = 1
"""Of the tables; a change adds one, and a step that brings an older file up."""

PRIVATE_FILE = 0o600
PRIVATE_FOLDER = 0o700
WAIT_S = 5.0
"""For another coach to finish its own change."""

SCHEMA = """
CREATE TABLE session (
    session TEXT PRIMARY KEY,
    began_utc TEXT NOT NULL,
    drill TEXT NOT NULL,
    is_rehearsed INTEGER NOT NULL,
    minutes REAL NOT NULL
) STRICT;
CREATE TABLE figure (
    session TEXT NOT NULL REFERENCES session ON DELETE CASCADE,
    place INTEGER NOT NULL,
    skill TEXT NOT NULL,
    standard TEXT NOT NULL,
    source TEXT NOT NULL,
    "limit" REAL NOT NULL,
    unit TEXT NOT NULL,
    is_held INTEGER NOT NULL,
    n INTEGER NOT NULL,
    seconds REAL NOT NULL,
    within_share REAL NOT NULL,
    mean REAL,
    spread REAL NOT NULL,
    worst REAL NOT NULL,
    PRIMARY KEY (session, place)
) STRICT;
CREATE TABLE log_entry (
    n INTEGER PRIMARY KEY AUTOINCREMENT,
    day TEXT NOT NULL,
    entry TEXT NOT NULL
) STRICT;
"""


def database_path() -> Path:
    """Where this machine keeps it, such as `~/.local/share/drill-coach/history.sqlite`; it may not exist."""
    return platformdirs.user_data_path("drill-coach", appauthor=False) / "history.sqlite"


@contextmanager
def open_database(path: Path) -> Iterator[sqlite3.Connection]:
    """The file, made where there is none; what is done inside is done whole or not at all.

    `SettingsError` with the remedy where it cannot be opened, is no database, or is of a newer coach.
    """
    try:
        _make(path)
        with closing(sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)) as connection:
            connection.execute("PRAGMA foreign_keys = ON")
            # What is deleted is overwritten: it is the pilot's own.
            connection.execute("PRAGMA secure_delete = ON")
            _prepare(connection, path)
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
            except BaseException:
                connection.execute("ROLLBACK")
                raise
            connection.execute("COMMIT")
    except sqlite3.Error as exc:
        raise _refuse(path, str(exc)) from exc
    except OSError as exc:
        got = (exc.strerror or "an error of the disk").lower()
        raise SettingsError(
            Problem(where=str(path), expected="a place that can be written to", got=got)
        ) from exc


def _make(path: Path) -> None:
    path.parent.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
    if not path.exists():
        # SQLite would make it for everybody to read; its own journal file takes the mode of this one.
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT, PRIVATE_FILE))


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    """Make the tables of a new file; two coaches at once make them once."""
    if _version(connection) == VERSION:
        return
    connection.execute("BEGIN IMMEDIATE")
    version = _version(connection)
    if version == 0:
        for statement in filter(str.strip, SCHEMA.split(";\n")):
            connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {VERSION}")
    connection.execute("COMMIT")
    if version not in (0, VERSION):
        raise _refuse(path, f"version {version}, of a newer coach")


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _refuse(path: Path, got: str) -> SettingsError:
    expected = f"a history of version {VERSION}"
    remedy = f"move {path.name} away and the coach begins anew"
    return SettingsError(Problem(where=str(path), expected=expected, got=f"{got}; {remedy}"))
