"""How like a stretch of the microphone's sound is to what the loudspeaker played: the coach's own voice?

Compares the shapes of both in time and frequency, at every delay a path may have. A canceller that has lost
its path (a clock that jumped, a loudspeaker that was moved) leaves the coach's words as they were: they fool
the recogniser, not this. Pure; never changes sound.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from coach.voice.recogniser import SAMPLE_RATE_HZ

Shape = NDArray[np.float64]
Block = NDArray[np.int16]

HOP = SAMPLE_RATE_HZ // 100
WINDOW = 400
LOWEST_HZ, HIGHEST_HZ = 200.0, 4000.0
"""The cabin is loud below, a small loudspeaker silent above."""

N_BANDS = 16
LONGEST_DELAY = 40
"""Frames of 10 ms: the longest way from the loudspeaker into the microphone."""

FLOOR = 1e-3
"""Power is compared down to 30 dB below the loudest frame."""

FEWEST_FRAMES = 10


OWN = 0.62
"""From here on it was the coach. Of 800 stretches of prompts in ten rooms that nothing was taken out of 99 in
a hundred are above; of 120 words of ten voices over prompts, the echo taken out, none (highest 0.57)."""

OWN_BEFORE = 0.9
"""What a canceller makes of the coach while it finds the path is like nothing that was played, and fools the
recogniser: the microphone's own sound is compared too. Of prompts with nobody over them all were above 0.91;
of 64 words of four voices over prompts none, the coach as loud as the pilot (highest 0.81) or twice (0.89).
"""

KEPT_S = 14.0
"""Longer than the longest answer."""


class OwnVoice:
    """Remembers what the loudspeaker played and knows it again."""

    def __init__(self) -> None:
        self._played: deque[tuple[float, Block]] = deque()
        self._heard: deque[tuple[float, Block]] = deque()

    def note(self, played: Block, heard: Block, at_s: float) -> None:
        """A block of what was played, what the microphone heard meanwhile, the time of their first sample."""
        for kept, block in ((self._played, played), (self._heard, heard)):
            kept.append((at_s, block))
            while kept[0][0] < at_s - KEPT_S:
                kept.popleft()

    def is_own(self, cleaned: NDArray[np.floating], at_s: float) -> bool:
        """True where a stretch of the microphone's sound that begins at `at_s` is the coach's voice."""
        lead = LONGEST_DELAY * HOP
        played = _join(self._played, at_s - lead / SAMPLE_RATE_HZ, len(cleaned) + lead)
        if not played.any():
            return False
        before = _join(self._heard, at_s, len(cleaned))
        return find_likeness(cleaned, played) >= OWN or find_likeness(before, played) >= OWN_BEFORE


def _join(blocks: Iterable[tuple[float, Block]], from_s: float, n_samples: int) -> Shape:
    """So many samples from a session time on; zeros where there is no block."""
    found = np.zeros(n_samples)
    for at_s, block in blocks:
        first = round((at_s - from_s) * SAMPLE_RATE_HZ)
        part = block[max(0, -first) : max(0, n_samples - first)]
        found[max(0, first) : max(0, first) + len(part)] = part
    return found


def find_likeness(heard: NDArray[np.floating], played: NDArray[np.floating]) -> float:
    """Return the highest correlation, -1 to 1, of what was heard with what was played before and meanwhile.

    Both mono at 16 kHz and ending together; `played` begins `LONGEST_DELAY` frames earlier. 0 where either is
    silent or shorter than a tenth of a second.
    """
    heard_shape, played_shape = _find_shape(heard), _find_shape(played)
    n = len(heard_shape)
    delays = len(played_shape) - n + 1
    if n < FEWEST_FRAMES or delays < 1:
        return 0.0
    heard_shape = _normalise(heard_shape)
    return max(float(np.sum(heard_shape * _normalise(played_shape[at : at + n]))) for at in range(delays))


def _find_shape(sound: NDArray[np.floating]) -> Shape:
    """Log power by frame and band."""
    if len(sound) < WINDOW:
        return np.zeros((0, N_BANDS))
    frames = np.lib.stride_tricks.sliding_window_view(sound, WINDOW)[::HOP]
    power = np.abs(np.fft.rfft(frames * np.hanning(WINDOW))) ** 2
    edges_hz = np.geomspace(LOWEST_HZ, HIGHEST_HZ, N_BANDS + 1)
    edges = np.rint(edges_hz * WINDOW / SAMPLE_RATE_HZ).astype(int)
    bands = np.add.reduceat(power, edges, axis=1)[:, :N_BANDS]
    shape: Shape = np.log(bands + FLOOR * bands.sum(axis=1).max() / N_BANDS + 1e-12)
    return shape


def _normalise(shape: Shape) -> Shape:
    """Without each band's mean, of unit energy; a steady sound has no shape."""
    level = shape - shape.mean(axis=0)
    energy = float(np.sqrt(np.sum(level**2)))
    normalised: Shape = level / energy if energy > 1e-6 else level
    return normalised
