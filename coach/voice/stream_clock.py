"""When the blocks of an output stream sound, on the session clock.

Pure: it is told what the callback was told. Never asks a clock.
"""

from __future__ import annotations

from collections import deque

from coach.voice.pcm import RATE_HZ

SETTLED_BLOCKS = 5
"""Blocks that must agree before the stream counts as running: a stream that starts takes its first blocks at
once and then stands still for up to 1.9 s (measured on an idle sink)."""

AGREE_S = 0.005
"""How far two blocks may disagree and still count as agreeing."""

JUMP_S = 0.05
"""A block further off than this tells of a gap in the sound (an underrun, a stopped process, another device):
the stream must settle again."""

WINDOW_BLOCKS = 10
"""A callback that Python delays looks late, never early: the earliest of so many blocks (0.1 s) dates all."""


class StreamClock:
    """Dates block after block of one stream."""

    def __init__(self, *, fallback_delay_s: float) -> None:
        """Start with the delay to assume where the device reports none."""
        self._fallback_delay_s = fallback_delay_s
        self._n_frames = 0
        self._firsts: deque[float] = deque(maxlen=WINDOW_BLOCKS)
        self._agreed = 0

    @property
    def is_settled(self) -> bool:
        """True once the stream runs evenly."""
        return self._agreed >= SETTLED_BLOCKS

    def date(self, *, now_s: float, delay_s: float, n_frames: int, has_gap: bool = False) -> int | None:
        """Return the session's sample at which a block's first sample sounds; None until the stream settles.

        `now_s`: session clock in the callback. `delay_s`: from the callback to the block's first sample, as
        the device reports it; 0 or less: not reported. `has_gap`: the card ran dry before this block.
        """
        measured = (now_s + (delay_s if delay_s > 0 else self._fallback_delay_s)) * RATE_HZ
        first = measured - self._n_frames
        self._settle(first)
        if has_gap:
            self._firsts.clear()
        self._firsts.append(first)
        at_sample = min(self._firsts) + self._n_frames
        self._n_frames += n_frames
        return round(at_sample) if self.is_settled else None

    def _settle(self, first: float) -> None:
        """Count blocks that put the stream's first sample at the same time; begin anew after a jump."""
        off = abs(first - min(self._firsts)) / RATE_HZ if self._firsts else JUMP_S
        if off <= (JUMP_S if self.is_settled else AGREE_S):
            self._agreed += 1
            return
        self._firsts.clear()
        self._agreed = 0
