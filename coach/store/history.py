"""The history of what was flown: each session's figures, on this machine only.

Never sent anywhere; the pilot exports it, and deletes a session or all of it.
"""

from __future__ import annotations

import sqlite3
from dataclasses import astuple, fields
from datetime import datetime
from pathlib import Path

from coach.debrief.history import SessionFigures, SkillFigure
from coach.store.database import open_database

NAMES = tuple(field.name for field in fields(SkillFigure))
COLUMNS = ", ".join(f'"{name}"' for name in NAMES)


def keep_session(path: Path, session: SessionFigures) -> None:
    """Keep a session; one of the same name is replaced. `SettingsError` where it cannot be kept."""
    with open_database(path) as connection:
        connection.execute("DELETE FROM session WHERE session = ?", (session.session,))
        connection.execute(
            "INSERT INTO session VALUES (?, ?, ?, ?, ?)",
            (
                session.session,
                session.began_utc.isoformat(),
                session.drill,
                int(session.is_rehearsed),
                session.minutes,
            ),
        )
        connection.executemany(
            f"INSERT INTO figure (session, place, {COLUMNS}) VALUES (?, ?{', ?' * len(NAMES)})",
            [(session.session, place, *astuple(skill)) for place, skill in enumerate(session.skills)],
        )


def read_sessions(path: Path) -> tuple[SessionFigures, ...]:
    """Every session kept, the oldest first; none where there is no file."""
    if not path.exists():
        return ()
    with open_database(path) as connection:
        rows = connection.execute("SELECT * FROM session ORDER BY began_utc, session").fetchall()
        return tuple(_session(connection, row) for row in rows)


def delete_sessions(path: Path, session: str | None) -> int:
    """Delete one session, or all (None); how many there were. Nothing of them stays in the file."""
    if not path.exists():
        return 0
    with open_database(path) as connection:
        if session is None:
            return connection.execute("DELETE FROM session").rowcount
        return connection.execute("DELETE FROM session WHERE session = ?", (session,)).rowcount


def _session(connection: sqlite3.Connection, row: tuple[str, str, str, int, float]) -> SessionFigures:
    name, began_utc, drill, is_rehearsed, minutes = row
    found = connection.execute(f"SELECT {COLUMNS} FROM figure WHERE session = ? ORDER BY place", (name,))
    return SessionFigures(
        session=name,
        began_utc=datetime.fromisoformat(began_utc),
        drill=drill,
        is_rehearsed=bool(is_rehearsed),
        minutes=minutes,
        skills=tuple(_figure(dict(zip(NAMES, values, strict=True))) for values in found),
    )


def _figure(values: dict[str, object]) -> SkillFigure:
    return SkillFigure(**(values | {"is_held": bool(values["is_held"])}))  # type: ignore[arg-type]
