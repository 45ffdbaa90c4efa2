"""The cockpit's sound as a WAV file: left the coach, right the pilot's microphone, 16 kHz, 16 bit.

Streamed to disk a few seconds at a time: a drill of 43 minutes is 165 MB. Never keeps it in memory.
"""

from __future__ import annotations

import wave
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


class Recording:
    """An open WAV file."""

    def __init__(self, path: Path) -> None:
        """Open the file; CoachError where it cannot be written."""
        try:
            self._stream = path.open("wb")
        except OSError as exc:
            raise CoachError(f"{path}: expected a file that can be written, got {exc.strerror}") from exc
        self._path = path
        self._file = wave.open(self._stream, "wb")  # noqa: SIM115  (closed by close)
        self._file.setnchannels(2)
        self._file.setsampwidth(2)
        self._file.setframerate(RATE_HZ)
        self._coach: list[Block] = []
        self._microphone: list[Block] = []
        self._length = 0
        self._is_silent = True

    def __enter__(self) -> Recording:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

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
        self._flush()
        self._file.close()
        self._stream.close()

    def _flush(self) -> None:
        if not self._length:
            return
        frames = np.zeros((self._length, 2), dtype="<i2")
        frames[:, 1] = np.concatenate(self._microphone)
        if not self._is_silent:
            sound = np.concatenate(self._coach) / 32767
            frames[:, 0] = encode_samples(resample(sound, COACH_RATE_HZ, RATE_HZ))
        try:
            self._file.writeframes(frames.tobytes())
        except OSError as exc:
            raise CoachError(f"{self._path}: expected room for the recording, got {exc.strerror}") from exc
        self._coach, self._microphone = [], []
        self._length, self._is_silent = 0, True
