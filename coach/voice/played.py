"""The last seconds that the coach sounded, by session time: the reference of an echo canceller.

Never decides what sounds.
"""

from __future__ import annotations

import numpy as np

from coach.voice.pcm import RATE_HZ, Samples

KEPT_S = 4
"""How far back it reaches: longer than the sound's way through any card and the ear's own delay."""


class Played:
    """A ring of the last `KEPT_S` seconds. One thread adds, any thread reads."""

    def __init__(self) -> None:
        self._ring = np.zeros(KEPT_S * RATE_HZ, dtype=np.int16)
        self._added = 0
        self._end_sample = 0

    @property
    def end_sample(self) -> int:
        """The session's sample that follows the last one added."""
        return self._end_sample

    def add(self, block: Samples, end_sample: int) -> None:
        """Add the block whose last sample comes just before `end_sample`."""
        kept = block[-self._ring.size :]
        first = (self._added + block.size - kept.size) % self._ring.size
        room = self._ring.size - first
        self._ring[first : first + kept.size] = kept[:room]
        self._ring[: max(0, kept.size - room)] = kept[room:]
        self._added += block.size
        self._end_sample = end_sample

    def index_at(self, sample: int) -> int:
        """Return the place in the row of what sounds at a sample of the session."""
        return sample - self._end_sample + self._added

    def row(self, first: int, n_samples: int) -> Samples:
        """Return samples of the row from a place on; zeros where nothing is known. Read place after place,
        they are what the device was given, whatever the times of its blocks."""
        indices = np.arange(first, first + n_samples)
        is_kept = (indices >= max(0, self._added - self._ring.size)) & (indices < self._added)
        found = np.zeros(n_samples, dtype=np.int16)
        found[is_kept] = self._ring[indices[is_kept] % self._ring.size]
        return found
