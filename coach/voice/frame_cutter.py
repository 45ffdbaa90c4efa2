"""Blocks of any length cut into the ear's frames, each with its time.

Never looks at the sound, but for its length.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from coach.voice.gate import FRAME_S, FRAME_SAMPLES
from coach.voice.recogniser import SAMPLE_RATE_HZ, Samples

Block = NDArray[np.int16]
"""Mono sound of the microphone at `SAMPLE_RATE_HZ`, any length."""

LOST_S = 0.25
"""A hole in the block times longer than this breaks the utterance off."""


class FrameCutter:
    """Cuts blocks of any length into frames and keeps the time of each."""

    def __init__(self) -> None:
        self._rest = np.empty(0, np.float32)
        self._next_s: float | None = None

    def is_hole(self, at_s: float) -> bool:
        """Whether sound is missing before a block at this time; what was left over is then dropped."""
        if self._next_s is None or abs(at_s - self._next_s) <= LOST_S:
            return False
        self._rest = self._rest[:0]
        return True

    def cut(self, block: Block, at_s: float) -> Iterator[tuple[Samples, float]]:
        """The frames that this block completes, each with the time of its first sample."""
        start_s = at_s - len(self._rest) / SAMPLE_RATE_HZ
        sound = np.concatenate([self._rest, block.astype(np.float32) / 32768])
        whole = len(sound) // FRAME_SAMPLES
        self._rest = sound[whole * FRAME_SAMPLES :]
        self._next_s = at_s + len(block) / SAMPLE_RATE_HZ
        for index in range(whole):
            frame = sound[index * FRAME_SAMPLES : (index + 1) * FRAME_SAMPLES]
            yield frame, round(start_s + index * FRAME_S, 6)
