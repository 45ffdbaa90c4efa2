"""The journals on this machine: begin one, go on with one, read one, list them.

A torn last line is mended and told. Never overwrites a file it cannot read whole: a foreign file,
another version, a journal that another coach is writing are refused with one clear line.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from coach.errors import JournalError, Problem
from coach.session.events import Event
from coach.session.journal import (
    MAX_LINE_CHARACTERS,
    Closed,
    Header,
    Journal,
    decode_line,
    encode_line,
    parse_journal,
    split_lines,
)
from coach.store.journal_file import JournalFile, JournalInUseError, create_file, is_in_use, open_file
from coach.store.journal_writer import JournalWriter

MAX_BYTES = 64_000_000
"""A twelve-hour flight stays below it; anything larger is not read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredJournal:
    """A journal as read from disk."""

    path: Path
    journal: Journal
    repair: str | None
    """What was mended, in one line; None: nothing was torn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundJournal:
    """A file in the folder of journals, by its first and last line only."""

    path: Path
    header: Header | None
    """None where the file cannot be read: `problem` says why."""

    is_closed: bool
    """False: the flight was broken off, or is still being flown."""

    is_in_use: bool
    """A coach is writing it."""

    problem: str | None


def journals_folder() -> Path:
    """Where this machine keeps journals; it may not exist yet."""
    return platformdirs.user_data_path("drill-coach", appauthor=False) / "journals"


def begin_journal(
    folder: Path, header: Header, *, post: Callable[[Event], None], now_s: Callable[[], float]
) -> JournalWriter:
    """Begin a new journal; a disk that refuses is told through `post`, and the flight goes on."""
    # Only what is safe in a file's name: a drill's name never leads out of the folder.
    drill = re.sub("[^a-z0-9]+", "-", header.drill.lower()).strip("-")[:60]
    name = f"{header.began_utc:%Y%m%dT%H%M%SZ}-{drill}"
    return JournalWriter(lambda: create_file(folder, name), post=post, now_s=now_s, header=header)


def resume_journal(
    path: Path, *, post: Callable[[Event], None], now_s: Callable[[], float]
) -> tuple[StoredJournal, JournalWriter]:
    """Read a journal that was broken off, and go on writing it.

    Raises JournalError as `read_journal` does. A disk that refuses is told through `post`.
    """
    file = _open(path)
    try:
        stored = _read(path, file)
    except BaseException:
        file.close()
        raise
    events_before = len(stored.journal.steps)
    return stored, JournalWriter(
        lambda: file, post=post, now_s=now_s, header=None, events_before=events_before
    )


def read_journal(path: Path) -> StoredJournal:
    """Read a flight; a torn last line is cut off the file.

    Raises JournalError for no such file, a folder, a foreign file, another version, broken lines, a
    file over `MAX_BYTES`, and a journal that another coach is writing.
    """
    file = _open(path)
    try:
        return _read(path, file)
    finally:
        file.close()


def list_journals(folder: Path) -> tuple[FoundJournal, ...]:
    """Every journal in the folder, the newest first; none where there is no folder."""
    return tuple(_find(path) for path in sorted(folder.glob("*.jsonl"), reverse=True))


def _open(path: Path) -> JournalFile:
    where = str(path)
    try:
        if not path.is_file():
            raise JournalError(Problem(where=where, expected="a journal", got=_kind(path)))
        return open_file(path)
    except JournalInUseError as exc:
        expected = "a journal that no other coach is writing"
        raise JournalError(Problem(where=where, expected=expected, got="one being written")) from exc
    except OSError as exc:
        raise JournalError(Problem(where=where, expected="a journal", got=exc.strerror or str(exc))) from exc


def _kind(path: Path) -> str:
    if not path.exists():
        return "no such file"
    return "a folder" if path.is_dir() else "a device or pipe"


def _read(path: Path, file: JournalFile) -> StoredJournal:
    content = file.read(MAX_BYTES + 1)
    if len(content) > MAX_BYTES:
        problem = Problem(where=str(path), expected=f"at most {MAX_BYTES} bytes", got="more")
        raise JournalError(problem)
    lines, torn_bytes = split_lines(content)
    if not lines:
        got = repr(content[:50]) if content else "an empty file"
        raise JournalError(Problem(where=f"{path}:1", expected="the header of a journal", got=got))
    journal = parse_journal(lines, name=str(path))
    return StoredJournal(path=path, journal=journal, repair=_mend(path, file, content, torn_bytes))


def _mend(path: Path, file: JournalFile, content: bytes, torn_bytes: int) -> str | None:
    """Leave only whole lines in the file; what was done, or None."""
    if not torn_bytes and content.endswith(b"\n"):
        return None
    told = f"{path}: the last line was torn, {torn_bytes} bytes left out"
    try:
        if torn_bytes:
            file.cut(len(content) - torn_bytes)
        else:
            file.append(b"\n")
    except OSError as exc:
        return f"{told}; the file is as it was: {exc.strerror}"
    return told


def _find(path: Path) -> FoundJournal:
    try:
        first, last = _ends(path)
        header = decode_line(first, where=f"{path}:1")
    except (OSError, JournalError) as error:
        problem = str(error) if isinstance(error, JournalError) else f"{path}: {error.strerror}"
        return FoundJournal(path=path, header=None, is_closed=False, is_in_use=False, problem=problem)
    return FoundJournal(
        path=path,
        header=header if isinstance(header, Header) else None,
        is_closed=last == encode_line(Closed()),
        is_in_use=is_in_use(path),
        problem=None if isinstance(header, Header) else f"{path}:1: expected the header of a journal",
    )


def _ends(path: Path) -> tuple[str, str]:
    """The first line and the last, without reading what lies between."""
    with path.open("rb") as file:
        first = file.readline(MAX_LINE_CHARACTERS)
        file.seek(max(0, path.stat().st_size - MAX_LINE_CHARACTERS))
        last = file.read(MAX_LINE_CHARACTERS).rstrip(b"\n").rpartition(b"\n")[2]
    return first.decode("ascii", "replace").rstrip("\n"), last.decode("ascii", "replace")
