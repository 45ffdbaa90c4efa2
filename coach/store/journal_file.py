"""One journal on disk: appended whole or not at all, locked while a coach has it open.

Never knows what the bytes mean. Every failure is an `OSError`; `JournalInUseError` is one of them.
"""

from __future__ import annotations

import errno
import os
import sys
from itertools import count
from pathlib import Path

PRIVATE_FILE = 0o600
PRIVATE_FOLDER = 0o700

_BYTES_AS_THEY_ARE = getattr(os, "O_BINARY", 0)
"""Windows only: no line ends changed."""

_LOCKED_BYTE = 2**40
"""Windows locks bytes against reading too: one that no journal reaches."""


class JournalInUseError(OSError):
    """Another coach has the journal open."""


class JournalFile:
    """An open, locked journal. The lock goes with the process, however it ends."""

    def __init__(self, descriptor: int, length: int, new_in: Path | None = None) -> None:
        self._descriptor = descriptor
        self._length = length
        self._new_in = new_in
        """The folder that has to keep a new file's name; None once it does."""
        self._is_torn = False

    def read(self, most_bytes: int) -> bytes:
        """The first `most_bytes` bytes, or all of it."""
        os.lseek(self._descriptor, 0, os.SEEK_SET)
        parts = []
        while most_bytes > 0 and (part := os.read(self._descriptor, min(most_bytes, 1_000_000))):
            parts.append(part)
            most_bytes -= len(part)
        return b"".join(parts)

    def append(self, content: bytes) -> None:
        """Write it all at the end. After an `OSError` the next call cuts off what came of this one."""
        if self._is_torn:
            os.ftruncate(self._descriptor, self._length)
        self._is_torn = True
        written = 0
        while written < len(content):
            written += os.write(self._descriptor, content[written:])
        self._length += written
        self._is_torn = False

    def cut(self, length: int) -> None:
        """Keep the first `length` bytes."""
        os.ftruncate(self._descriptor, length)
        self._length = length

    def sync(self) -> None:
        """Have the device keep what was appended, and a new file's name."""
        os.fsync(self._descriptor)
        if self._new_in is not None:
            _sync_folder(self._new_in)
            self._new_in = None

    def close(self) -> None:
        """Close it and give the lock back."""
        os.close(self._descriptor)


def create_file(folder: Path, name: str) -> JournalFile:
    """A new, empty file `name.jsonl` for its owner only; where that exists, `name-2.jsonl` and so on."""
    folder.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
    return _locked(_create(folder, name), new_in=folder)


def open_file(path: Path) -> JournalFile:
    """An existing file, locked; on a disk that is not to be written it can be read only."""
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_APPEND | _BYTES_AS_THEY_ARE)
    except OSError as exc:
        if exc.errno not in (errno.EACCES, errno.EPERM, errno.EROFS):
            raise
        descriptor = os.open(path, os.O_RDONLY | _BYTES_AS_THEY_ARE)
    return _locked(descriptor)


def is_in_use(path: Path) -> bool:
    """Whether a coach is writing it."""
    descriptor = os.open(path, os.O_RDONLY | _BYTES_AS_THEY_ARE)
    try:
        _lock(descriptor, is_shared=True)
    except JournalInUseError:
        return True
    finally:
        os.close(descriptor)
    return False


def _locked(descriptor: int, new_in: Path | None = None) -> JournalFile:
    try:
        _lock(descriptor)
    except OSError:
        os.close(descriptor)
        raise
    return JournalFile(descriptor, os.fstat(descriptor).st_size, new_in)


def _create(folder: Path, name: str) -> int:
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_EXCL | _BYTES_AS_THEY_ARE
    for n in count(1):
        try:
            return os.open(folder / f"{name}{f'-{n}' if n > 1 else ''}.jsonl", flags, PRIVATE_FILE)
        except FileExistsError:
            continue
    raise AssertionError("count ends never")


def _sync_folder(folder: Path) -> None:
    """A file's name is the folder's to keep; Windows keeps it without being asked."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int, *, is_shared: bool = False) -> None:  # noqa: ARG001 (no shared locks here)
        os.lseek(descriptor, _LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError as exc:
            raise JournalInUseError("another coach is writing it") from exc
        finally:
            os.lseek(descriptor, 0, os.SEEK_SET)

else:
    import fcntl

    def _lock(descriptor: int, *, is_shared: bool = False) -> None:
        kind = fcntl.LOCK_SH if is_shared else fcntl.LOCK_EX
        try:
            fcntl.flock(descriptor, kind | fcntl.LOCK_NB)
        except BlockingIOError as exc:
            raise JournalInUseError("another coach is writing it") from exc
