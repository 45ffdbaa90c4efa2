"""Rendered prompts kept on disk and in memory, both bounded; what is broken counts as not there.

Never renders anything, and never fails: without a disk every prompt is simply rendered again.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import threading
import zlib
from collections import OrderedDict
from pathlib import Path

import numpy as np

from coach.voice.pcm import Samples

DISK_BYTES = 128 * 1024 * 1024
"""Most that the folder holds; the prompts unused for longest go first."""

MEMORY_BYTES = 48 * 1024 * 1024
"""Most that is kept in memory: about 8 minutes of speech, more than a drill says."""

SUFFIX = ".pcm"
CHECKSUM_BYTES = 4
"""A file is the CRC-32 of its samples, then the samples, 16-bit, little-endian."""

SOUND_VERSION = 2
"""Goes up when rendering, trimming or resampling changes, so that older files are not used again."""


def cache_key(*, text: str, voice: str, rate_wpm: int, engine: str) -> str:
    """Return the name of a rendered text, a hash of everything its sound depends on."""
    parts = json.dumps([SOUND_VERSION, engine, voice, rate_wpm, text])
    return hashlib.sha256(parts.encode()).hexdigest()


class SoundCache:
    """Sounds by key, on disk and in memory; safe to use from several threads."""

    def __init__(
        self, folder: Path | None, *, disk_bytes: int = DISK_BYTES, memory_bytes: int = MEMORY_BYTES
    ) -> None:
        self._folder = folder
        self._disk_bytes = disk_bytes
        self._memory_bytes = memory_bytes
        self._held: OrderedDict[str, Samples] = OrderedDict()
        self._held_bytes = 0
        self._lock = threading.Lock()

    def find_held(self, key: str) -> Samples | None:
        """Return a sound that is in memory; never touches the disk."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
            return self._held.get(key)

    def find(self, key: str) -> Samples | None:
        """Return a sound from memory or disk; None if it is not there or broken."""
        sound = self.find_held(key)
        if sound is None and (sound := self._read(key)) is not None:
            self._hold(key, sound)
        return sound

    def keep(self, key: str, sound: Samples) -> None:
        """Keep a sound in memory and, where there is a writable folder, on disk."""
        sound.flags.writeable = False
        self._hold(key, sound)
        with contextlib.suppress(OSError):
            self._write(key, sound)

    def prune(self) -> None:
        """Delete the files unused for longest until the folder is within its bound."""
        if self._folder is None:
            return
        with contextlib.suppress(OSError):
            files = sorted(
                self._folder.glob(f"*{SUFFIX}"), key=lambda path: path.stat().st_mtime, reverse=True
            )
            kept_bytes = 0
            for path in files:
                kept_bytes += path.stat().st_size
                if kept_bytes > self._disk_bytes:
                    path.unlink(missing_ok=True)

    def _hold(self, key: str, sound: Samples) -> None:
        with self._lock:
            if key not in self._held:
                self._held_bytes += sound.nbytes
            self._held[key] = sound
            while self._held_bytes > self._memory_bytes and len(self._held) > 1:
                self._held_bytes -= self._held.popitem(last=False)[1].nbytes

    def _read(self, key: str) -> Samples | None:
        """Return a file's sound; the checksum at its start tells a broken one."""
        if self._folder is None:
            return None
        path = self._path(key)
        try:
            content = path.read_bytes()
        except OSError:
            return None
        with contextlib.suppress(OSError):  # a disk not to be written is still read
            os.utime(path)
        checksum, sound = content[:CHECKSUM_BYTES], content[CHECKSUM_BYTES:]
        if checksum != _checksum(sound):
            return None
        return np.frombuffer(sound, dtype="<i2").astype(np.int16, copy=False)

    def _write(self, key: str, sound: Samples) -> None:
        """Write a file beside its place and move it there: it is never seen half written."""
        if self._folder is None:
            return
        self._folder.mkdir(parents=True, exist_ok=True)
        descriptor, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
        try:
            with os.fdopen(descriptor, "wb") as file:
                content = sound.astype("<i2").tobytes()
                file.write(_checksum(content) + content)
            Path(name).replace(self._path(key))
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise

    def _path(self, key: str) -> Path:
        assert self._folder is not None
        return self._folder / f"{key}{SUFFIX}"


def _checksum(content: bytes) -> bytes:
    return zlib.crc32(content).to_bytes(CHECKSUM_BYTES, "little")
