"""The history of what a pilot has learnt: one private file, written whole or not at all.

Never judges an answer, and never overwrites a file that it cannot read whole.
"""

from __future__ import annotations

import json
import os
from math import isfinite
from pathlib import Path

import platformdirs

from coach.errors import JournalError, Problem, SettingsError
from coach.session.fields import decode_fields, encode_fields
from coach.session.mastery import Element, Learnt, Mastery, Step

VERSION = 1
MOST_SESSIONS = 500
"""Of all drills together; the oldest are forgotten."""

LARGEST_BYTES = 2_000_000
"""500 sessions take some 350,000."""

PRIVATE_FILE = 0o600
PRIVATE_FOLDER = 0o700


def mastery_path() -> Path:
    """Where this machine keeps the history; it may not exist yet."""
    return platformdirs.user_data_path("drill-coach", appauthor=False) / "mastery.json"


def find_known(history: tuple[Learnt, ...], drill: str) -> tuple[Mastery, ...]:
    """What the last session with that drill left; empty where there was none."""
    return next((learnt.elements for learnt in reversed(history) if learnt.drill == drill), ())


def read_mastery(path: Path) -> tuple[Learnt, ...]:
    """Every session kept, the oldest first; empty where there is no file.

    `SettingsError` with the remedy where the file cannot be read whole.
    """
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        return ()
    except OSError as exc:
        raise _refuse(path, "a file that can be read", _named(exc)) from exc
    return _parse(content, path)


def add_session(path: Path, learnt: Learnt) -> None:
    """Keep one more session, in the place of one of the same drill and moment: a flight gone on with.

    `SettingsError` where the file cannot be read whole or written.
    """
    others = (
        old for old in read_mastery(path) if (old.began_utc, old.drill) != (learnt.began_utc, learnt.drill)
    )
    sessions = (*others, learnt)[-MOST_SESSIONS:]
    values = {"version": VERSION, "sessions": [encode_fields(session) for session in sessions]}
    beside = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
        _write(beside, json.dumps(values, indent=1).encode() + b"\n")
        beside.replace(path)
    except OSError as exc:
        problem = Problem(where=str(path), expected="a place that can be written to", got=_named(exc))
        raise SettingsError(problem) from exc


def _write(path: Path, content: bytes) -> None:
    path.unlink(missing_ok=True)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(descriptor)


def _parse(content: bytes, path: Path) -> tuple[Learnt, ...]:
    if len(content) > LARGEST_BYTES:
        raise _refuse(path, f"at most {LARGEST_BYTES} bytes", "more")
    try:
        values = json.loads(content)
    except (ValueError, RecursionError) as exc:
        raise _refuse(path, "a history of what was learnt", "no JSON") from exc
    if not isinstance(values, dict) or values.get("version") != VERSION:
        got = values.get("version") if isinstance(values, dict) else None
        raise _refuse(path, f"a history of version {VERSION}", f"version {got!r}")
    sessions = values.get("sessions")
    if not isinstance(sessions, list) or not all(isinstance(session, dict) for session in sessions):
        raise _refuse(path, "a list of sessions", type(sessions).__name__)
    try:
        learnt = tuple(decode_fields(Learnt, session, str(path)) for session in sessions)
    except JournalError as exc:
        raise SettingsError(*exc.problems, _remedy(path)) from exc
    for mastery in (mastery for session in learnt for mastery in session.elements):
        _check(mastery, path)
    return learnt


def _check(mastery: Mastery, path: Path) -> None:
    is_share = isfinite(mastery.known) and 0.0 <= mastery.known <= 1.0
    counts = (mastery.answers, mastery.held, mastery.wait)
    if not is_share or mastery.step not in list(Step) or min(counts) < 0:
        expected = f"{Element(mastery.element)}: a share from 0 to 1, a step from 0 to 3, counts from 0"
        got = f"{mastery.known:g}, step {mastery.step}, {', '.join(map(str, counts))}"
        raise _refuse(path, expected, got)


def _refuse(path: Path, expected: str, got: str) -> SettingsError:
    return SettingsError(Problem(where=str(path), expected=expected, got=f"{got}; {_remedy(path)}"))


def _remedy(path: Path) -> str:
    return f"move {path.name} away and the coach begins anew"


def _named(exc: OSError) -> str:
    return (exc.strerror or "an error of the disk").lower()
