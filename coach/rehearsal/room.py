"""The way of the coach's sound from an open loudspeaker into the pilot's microphone.

A direct path, a desk's reflections and a short reverberation, the same for the same seed. Never plays
anything.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coach.rehearsal.cabin import RATE_HZ, Samples
from coach.voice.pcm import RATE_HZ as COACH_RATE_HZ

DELAY_S = 0.06
"""Sound card, air and sound card again (common practice, no source: 20-100 ms)."""

REVERBERATION_S = 0.25
"""A small furnished room's, to -60 dB (from memory: 0.2-0.4 s)."""

REFLECTIONS = 8
REVERBERATION = 0.02
"""Level of the reverberation's first sample against the direct sound."""

PASS_HZ = 7_000.0
_RATIO = COACH_RATE_HZ // RATE_HZ


class Room:
    """Carries sound block by block; what rings on comes with the next blocks."""

    def __init__(self, gain: float = 1.0, seed: int = 3) -> None:
        """`gain`: of the whole way, from full scale of the coach to full scale of the microphone."""
        self._taps = gain * _make_path(seed)
        self._past = np.zeros(len(self._taps) - 1)

    def carry(self, coach: NDArray[np.int16] | None, n_samples: int) -> Samples | None:
        """What comes of a block of the coach (48 kHz, 16-bit; None: silence) as `n_samples` at 16 kHz.

        None where nothing sounds and nothing rings.
        """
        if n_samples == 0:
            return None
        block = np.zeros(n_samples * _RATIO) if coach is None else coach / 32768
        sound = np.concatenate([self._past, block])
        self._past = sound[len(sound) - len(self._past) :]
        if not sound.any():
            return None
        size = 1 << (len(sound) - 1).bit_length()
        spectrum = np.fft.rfft(sound, size) * np.fft.rfft(self._taps, size)
        carried = np.fft.irfft(spectrum, size)[len(self._taps) - 1 : len(sound)]
        return carried[::_RATIO].astype(np.float32)


def _make_path(seed: int) -> NDArray[np.float64]:
    """Taps at the coach's rate, with the filter that lets the sound be thinned out to the ear's rate."""
    rng = np.random.default_rng(seed)
    n = round((DELAY_S + REVERBERATION_S) * COACH_RATE_HZ)
    direct = round(DELAY_S * COACH_RATE_HZ)
    taps = np.zeros(n)
    fading = 10 ** (-3 * np.arange(n - direct) / (n - direct))
    taps[direct:] = REVERBERATION / _RATIO * rng.standard_normal(n - direct) * fading
    taps[direct] += 1.0
    late = direct + rng.integers(100, 1000, REFLECTIONS)
    taps[late] += rng.uniform(-0.4, 0.4, REFLECTIONS)
    places = np.arange(-96, 97) / COACH_RATE_HZ
    low_pass = 2 * PASS_HZ / COACH_RATE_HZ * np.sinc(2 * PASS_HZ * places) * np.hamming(len(places))
    return np.convolve(taps, low_pass, mode="same")
