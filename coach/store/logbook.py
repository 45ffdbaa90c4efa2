"""The logbook's lines, beside the history in one private file. The pilot's own logbook comes first.

Never judges an entry: `coach.debrief.logbook` does.
"""

from __future__ import annotations

import json
from pathlib import Path

from coach.debrief.logbook import LogEntry, decode_entry, encode_entry
from coach.errors import Problem, SettingsError
from coach.store.database import open_database


def add_entry(path: Path, entry: LogEntry) -> int:
    """Add a line; its number. `SettingsError` where it cannot be kept."""
    with open_database(path) as connection:
        row = (entry.day.isoformat(), json.dumps(encode_entry(entry), ensure_ascii=False))
        cursor = connection.execute("INSERT INTO log_entry (day, entry) VALUES (?, ?)", row)
        return int(cursor.lastrowid or 0)


def read_entries(path: Path) -> tuple[tuple[int, LogEntry], ...]:
    """Every line and its number, in order of the day; none where there is no file."""
    if not path.exists():
        return ()
    with open_database(path) as connection:
        rows = connection.execute("SELECT n, entry FROM log_entry ORDER BY day, n").fetchall()
    return tuple((n, _decode(path, n, text)) for n, text in rows)


def delete_entry(path: Path, n: int) -> bool:
    """Delete a line by its number; whether there was one."""
    if not path.exists():
        return False
    with open_database(path) as connection:
        return connection.execute("DELETE FROM log_entry WHERE n = ?", (n,)).rowcount == 1


def _decode(path: Path, n: int, text: str) -> LogEntry:
    try:
        return decode_entry(json.loads(text))
    except (ValueError, KeyError, TypeError) as exc:
        problem = Problem(where=f"{path}: entry {n}", expected="a line of the logbook", got=f"{text[:60]!r}")
        raise SettingsError(problem) from exc
