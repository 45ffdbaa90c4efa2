"""The cockpit's sound as a WAV file: left the coach, right the pilot's microphone, 16 kHz, 16 bit.

Streamed to disk a few seconds at a time: a drill of 43 minutes is 165 MB. Never keeps it in memory. The
header is written by hand: `wave` prints a traceback of its own when the disk is full.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from coach.errors import CoachError
from coach.rehearsal.cabin import RATE_HZ
from coach.voice.pcm import RATE_HZ as COACH_RATE_HZ
from coach.voice.pcm import encode_samples, resample

Block = NDArray[np.int16]

RATIO = COACH_RATE_HZ // RATE_HZ

FLUSH_S = 5
"""Written so often, at a moment when the coach is silent: its sound is resampled a prompt at a time."""

LONGEST_S = 60
"""And so often at the latest."""

ROOM = "room for the recording"


class Recording:
    """An open WAV file."""

    def __init__(self, path: Path) -> None:
        """Open the file; CoachError where it cannot be written."""
        self._path = path
        self._coach: list[Block] = []
        self._microphone: list[Block] = []
        self._length = 0
        self._is_silent = True
        self._written = 0
        with self._telling("a file that can be written"):
            self._file = path.open("wb", buffering=0)

    def __enter__(self) -> Recording:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            self.close()
        except CoachError:
            # What went wrong first is told; a disk that is full is full here too.
            if kind is None:
                raise

    def add(self, coach: Block | None, microphone: Block) -> None:
        """Add a block: the coach at 48 kHz (None: silent), the microphone at 16 kHz, equally long."""
        if self._length >= (FLUSH_S if coach is None else LONGEST_S) * RATE_HZ:
            self._flush()
        self._is_silent = self._is_silent and coach is None
        self._coach.append(np.zeros(RATIO * len(microphone), np.int16) if coach is None else coach)
        self._microphone.append(microphone)
        self._length += len(microphone)

    def close(self) -> None:
        """Write what is left and finish the file."""
        with self._file, self._telling(ROOM):
            self._flush()
            self._file.seek(0)
            self._file.write(_header(self._written))

    def _flush(self) -> None:
        if not self._length:
            return
        frames = np.zeros((self._length, 2), dtype="<i2")
        frames[:, 1] = np.concatenate(self._microphone)
        if not self._is_silent:
            sound = np.concatenate(self._coach) / 32767
            frames[:, 0] = encode_samples(resample(sound, COACH_RATE_HZ, RATE_HZ))
        self._coach, self._microphone = [], []
        self._length, self._is_silent = 0, True
        with self._telling(ROOM):
            self._file.write(frames.tobytes() if self._written else _header(0) + frames.tobytes())
        self._written += frames.nbytes

    @contextmanager
    def _telling(self, expected: str) -> Iterator[None]:
        try:
            yield
        except OSError as exc:
            raise CoachError(f"{self._path}: expected {expected}, got {exc.strerror}") from exc


def _header(n_bytes: int) -> bytes:
    """The 44 bytes before the samples: PCM, two channels, 16 bit."""
    frame = 4
    form = (b"fmt ", 16, 1, 2, RATE_HZ, RATE_HZ * frame, frame, 16)
    return struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + n_bytes, b"WAVE", *form, b"data", n_bytes)
