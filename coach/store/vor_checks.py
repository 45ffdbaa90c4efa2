"""The log of VOR receiver checks: one line a check in the user's data folder, only ever added to.

Never rewrites a line and never judges one: that is `coach.nav.vor_check`. The log is the user's own; the
aircraft's log comes first.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from math import isfinite
from pathlib import Path

import platformdirs

from coach.errors import Problem, SettingsError
from coach.nav.vor_check import Kind, VorCheck, encode_check

LARGEST_BYTES = 10_000_000
"""Some 60,000 checks."""

LONGEST_TEXT = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLog:
    """The log as read."""

    path: Path
    checks: tuple[VorCheck, ...]
    """In the order they were recorded."""

    problems: tuple[str, ...]
    """Each line that is none, by its number; it is left as it is."""


def vor_checks_path() -> Path:
    """Where the log is kept, such as `~/.local/share/drill-coach/vor-checks.jsonl`; it may not exist yet."""
    return platformdirs.user_data_path("drill-coach", appauthor=False) / "vor-checks.jsonl"


def append_check(check: VorCheck) -> Path:
    """Add one line, safe on disk when this returns; `SettingsError` where it cannot be written.

    The line goes out in one write to a file open for appending: two coaches never mix their lines. Only
    the user may read the file.
    """
    path = vor_checks_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        line = _encode(check)
        descriptor = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        try:
            _write(descriptor, line if _ends_a_line(path) else b"\n" + line)
        finally:
            os.close(descriptor)
    except OSError as exc:
        raise _refuse(path, "a place that can be written to", exc) from exc
    return path


def read_checks() -> CheckLog:
    """The log; empty where there is none. `SettingsError` where the file cannot be read."""
    path = vor_checks_path()
    try:
        if not path.exists():
            return CheckLog(path=path, checks=(), problems=())
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as exc:
        raise _refuse(path, "a file that can be read", exc) from exc
    if len(content) > LARGEST_BYTES:
        raise SettingsError(Problem(where=str(path), expected=f"at most {LARGEST_BYTES} bytes", got="more"))
    return _parse(content, path)


def _write(descriptor: int, line: bytes) -> None:
    written = os.write(descriptor, line)
    if written != len(line):
        raise OSError(28, "No space left on device")
    with suppress(OSError):  # some file systems cannot: the line is written all the same
        os.fsync(descriptor)


def _ends_a_line(path: Path) -> bool:
    """False where a line was torn: the next one must not be added to it."""
    with path.open("rb") as file:
        if file.seek(0, os.SEEK_END) == 0:
            return True
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"


def _encode(check: VorCheck) -> bytes:
    return json.dumps(encode_check(check), ensure_ascii=False, allow_nan=False).encode() + b"\n"


def _parse(content: bytes, path: Path) -> CheckLog:
    checks: list[VorCheck] = []
    problems: list[str] = []
    for number, line in enumerate(content.split(b"\n"), 1):
        if not line.strip():
            continue
        check = _find_check(line)
        if check is None:
            problem = Problem(
                where=f"{path}:{number}", expected="a check", got=repr(line[:40].decode("utf-8", "replace"))
            )
            problems.append(str(problem))
        else:
            checks.append(check)
    return CheckLog(path=path, checks=tuple(checks), problems=tuple(problems))


def _find_check(line: bytes) -> VorCheck | None:
    """One line; None where it is none."""
    try:
        values = json.loads(line)
        check = VorCheck(
            day=date.fromisoformat(values["date"]),
            place=str(values["place"])[:LONGEST_TEXT],
            kind=Kind(values["kind"]),
            error_deg=float(values["error_deg"]),
            signature=str(values["signature"])[:LONGEST_TEXT],
        )
    except (ValueError, TypeError, KeyError, RecursionError):
        return None
    return check if isfinite(check.error_deg) else None


def _refuse(path: Path, expected: str, exc: OSError) -> SettingsError:
    got = (exc.strerror or "an error of the disk").lower()
    return SettingsError(Problem(where=str(path), expected=expected, got=got))
