"""What the speaker plays, laid beside the microphone's blocks: the reference of the echo canceller.

Both run in rows without holes, sample by sample; their times only tell where one row lies beside the other,
once, and again where they are far off. What small drift there is, the canceller follows. Never touches the
microphone's sound.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from coach.voice.ear import Block
from coach.voice.pcm import RATE_HZ, resample, sample_at
from coach.voice.played import Played
from coach.voice.recogniser import SAMPLE_RATE_HZ

LEAD_S = 0.015
"""What is laid beside a block sounds so much later: devices date their sound wrongly by some ms, and no
canceller knows an echo before what made it. More is not rendered yet when the microphone's block arrives."""

FAR_S, BROKEN_S = 0.02, 0.05
"""The rows are laid anew where their times differ by so much: while the coach is silent, and at once."""

MEASURED_BLOCKS, BROKEN_BLOCKS = 31, 4
"""The median of so many blocks counts, one second and a tenth."""

SILENT_S = 1.0
"""How long nothing must have sounded for the rows to be moved a little."""

_FACTOR = RATE_HZ // SAMPLE_RATE_HZ
_CONTEXT = 40
"""Samples at the ear's rate on both sides that the resampling filter reaches into."""


class EchoReference:
    """Reads what was played in step with the microphone."""

    def __init__(self, played: Played) -> None:
        self._played = played
        self._next: int | None = None
        self._off: deque[int] = deque(maxlen=MEASURED_BLOCKS)
        self._silent_s = 0.0

    def beside(self, n_samples: int, at_s: float) -> Block:
        """What was played while a block of the microphone was heard, at its rate; zeros where nothing was.

        `at_s` is the session time of the block's first sample; blocks follow one another.
        """
        if not self._played.end_sample:
            return np.zeros(n_samples, np.int16)
        first = self._place(self._played.index_at(sample_at(at_s + LEAD_S)))
        self._next = first + n_samples * _FACTOR
        context = _CONTEXT * _FACTOR
        row = self._played.row(first - context, self._next - first + 2 * context)
        if not row.any():
            self._silent_s += n_samples / SAMPLE_RATE_HZ
            return np.zeros(n_samples, np.int16)
        self._silent_s = 0.0
        at_ear_rate = resample(row.astype(np.float64), RATE_HZ, SAMPLE_RATE_HZ)[
            _CONTEXT : _CONTEXT + n_samples
        ]
        return np.clip(np.rint(at_ear_rate), -32768, 32767).astype(np.int16)

    def _place(self, by_time: int) -> int:
        """Where to read on in the row: where the last block ended, or by time if that is off."""
        if self._next is None:
            return by_time
        self._off.append(by_time - self._next)
        move = self._find_move()
        if move:
            self._off.clear()
        return self._next + move

    def _find_move(self) -> int:
        if len(self._off) < BROKEN_BLOCKS:
            return 0
        last = round(float(np.median(list(self._off)[-BROKEN_BLOCKS:])))
        if abs(last) > BROKEN_S * RATE_HZ:
            return last
        off = round(float(np.median(self._off)))
        is_measured = len(self._off) == MEASURED_BLOCKS and self._silent_s >= SILENT_S
        return off if is_measured and abs(off) > FAR_S * RATE_HZ else 0
