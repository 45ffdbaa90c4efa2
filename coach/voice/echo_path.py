"""The way of the coach's sound from the loudspeaker into the microphone, found by least squares.

The filter that, given all that was played and heard so far, leaves the least of it: as good as the data allow
after a second of speech, and hardly disturbed by a pilot who talks meanwhile (he has nothing in common with
what was played). The weights fade, so that a path that changes is learnt anew. Pure; never tells who speaks.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from coach.voice.recogniser import SAMPLE_RATE_HZ

Signal = NDArray[np.float64]
"""Sound in a row, full scale 1."""

TAPS = 6400
"""Length of the filter, 0.4 s: a wireless loudspeaker's delay of 0.25 s and a room's reverberation."""

_SIZE = 1 << (2 * TAPS - 1).bit_length()
"""Of all transforms: twice the filter, with room for a block of the microphone."""

LONGEST_BLOCK = _SIZE - 2 * TAPS

ROUNDS = 4
"""Steps of conjugate gradients a block; each block goes on from the last one's filter (8 gained nothing)."""

SMOOTHED = 160
"""Taps, 10 ms, whose mean power tells how strong a path may be there."""

WEAKEST = 1e-4
"""Share of the strongest tap's power that any tap may have."""

UNKNOWN = 0.01
"""Share of an even path's power, all that was heard spread over all taps, that any tap may have: a filter
that came out of nothing or was unlearnt to nothing finds its way back, and with a headset it stays small."""


class EchoPath:
    """Learns the path and predicts what comes out of it."""

    def __init__(self) -> None:
        self._played_played = np.zeros(TAPS)
        self._heard_played = np.zeros(TAPS)
        self._filter = np.zeros(TAPS)
        self._heard_energy = 0.0
        self._left_energy = 0.0
        self._samples = 0.0

    @property
    def is_known(self) -> bool:
        """True once anything was learnt."""
        return bool(self._filter.any())

    def learn(self, played: Signal, heard: Signal, memory_s: float) -> None:
        """Take in a block of the microphone, shape (n,), and what was played: the n samples of the same time
        and `TAPS` before them. What was learnt before loses a part e of its weight in `memory_s`."""
        n = heard.size
        kept = math.exp(-n / (memory_s * SAMPLE_RATE_HZ))
        transform = np.fft.rfft(played, _SIZE)
        self._played_played = kept * self._played_played + _correlate(played[-n:], transform)
        self._heard_played = kept * self._heard_played + _correlate(heard, transform)
        self._heard_energy = kept * self._heard_energy + float(heard @ heard)
        self._improve(played[-TAPS:])
        left = heard - self.predict(played)
        self._left_energy = kept * self._left_energy + float(left @ left)
        self._samples = kept * self._samples + n

    def predict(self, played: Signal) -> Signal:
        """The echo of what was played; the first `TAPS` samples only lead up to it and have none."""
        echo: Signal = np.fft.irfft(np.fft.rfft(self._filter, _SIZE) * np.fft.rfft(played, _SIZE), _SIZE)
        return echo[TAPS : played.size]

    def _improve(self, recent: Signal) -> None:
        """A few steps toward the filter that leaves the least; solves (A + ridge) filter = heard_played."""
        lags = np.zeros(_SIZE)
        lags[:TAPS] = self._played_played
        lags[1 - TAPS :] = self._played_played[:0:-1]
        power = np.maximum(np.fft.rfft(lags).real, 0.0)
        recent_transform = np.fft.rfft(recent, _SIZE)
        ridge = self._find_ridge()

        def apply(taps: Signal) -> Signal:
            transform = np.fft.rfft(taps, _SIZE)
            # The correlations count each sample with its whole echo. What of it is still on its way, after
            # the last sample heard, is taken off again.
            coming = np.fft.irfft(recent_transform * transform, _SIZE)
            coming[:TAPS] = 0.0
            seen = transform * power - np.conj(recent_transform) * np.fft.rfft(coming)
            applied: Signal = np.fft.irfft(seen, _SIZE)[:TAPS] + ridge * taps
            return applied

        scale = 1 / (ridge + self._played_played[0])
        self._filter = _descend(apply, self._heard_played, self._filter, scale)

    def _find_ridge(self) -> Signal:
        """How much each tap is held back: by the power of all that is no echo, against the path's there.

        A pilot's voice moves all taps alike; where the path has nothing it is held back, where it is strong
        it is free (the prior of a Wiener filter, from the filter itself).
        """
        even = self._heard_energy / max(self._played_played[0], 1e-12) / TAPS
        if not self._samples or not self.is_known:
            return np.full(TAPS, self._heard_energy / max(self._samples, 1.0) / max(even, 1e-12))
        sums = np.concatenate([[0.0], np.cumsum(self._filter**2)])
        around = np.arange(TAPS)
        first, last = np.maximum(around - SMOOTHED // 2, 0), np.minimum(around + SMOOTHED // 2, TAPS)
        power = (sums[last] - sums[first]) / (last - first)
        power = np.maximum(power, max(WEAKEST * float(power.max()), UNKNOWN * even)) + 1e-12
        ridge: Signal = self._left_energy / self._samples / power
        return ridge


def _correlate(block: Signal, played: NDArray[np.complex128]) -> Signal:
    """The sum over a block of its samples times what was played 0, 1, … `TAPS` - 1 samples before each."""
    late = np.zeros(_SIZE)
    late[TAPS : TAPS + block.size] = block
    by_lag = np.fft.irfft(np.conj(np.fft.rfft(late)) * played, _SIZE)
    return np.concatenate([by_lag[:1], by_lag[: _SIZE - TAPS : -1]])


def _descend(apply: Callable[[Signal], Signal], wanted: Signal, start: Signal, scale: Signal) -> Signal:
    """Conjugate gradients for a symmetric positive `apply`, from `start` on; `scale` about inverts it."""
    solution = start
    rest = wanted - apply(solution)
    direction = scale * rest
    left = float(rest @ direction)
    for _ in range(ROUNDS):
        along = apply(direction)
        curvature = float(direction @ along)
        if left <= 0.0 or curvature <= 0.0:
            break
        step = left / curvature
        solution = solution + step * direction
        rest = rest - step * along
        scaled = scale * rest
        before, left = left, float(rest @ scaled)
        direction = scaled + left / before * direction
    return solution
