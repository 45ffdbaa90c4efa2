"""How far what was played slips against what is heard: two devices have two clocks.

A loudspeaker's and a microphone's rate differ by some millionths (a sound server's resampler by more), and a
driver's times by milliseconds: the echo walks away from the path that was learnt. The echo that is predicted
is laid over the one that is heard; where it comes late or early, all further reading is shifted, and the rate
of the shift is learnt. Pure; never touches the microphone's sound.
"""

from __future__ import annotations

import math

import numpy as np

from coach.voice.echo_path import Signal

COMPARED = 1600
"""Samples of prediction that each comparison takes, 0.1 s; what was heard in the middle of them is sought in
it."""

_EDGE = COMPARED // 4
"""The farthest slip that is seen at once, 25 ms."""

MARGIN = 320
"""What was played is read so much later than it was given, 20 ms, so that it can be read earlier too."""

HALF_WIDTH = 8
"""Of the filter that reads between two samples."""

_FADING = 5 / 6
"""Comparisons fade, so that the last 0.3 s count."""

_ENOUGH = 6
"""Comparisons before a jump is believed."""

SMALL = 1.5
"""Samples: a slip below follows a clock, above it is a jump."""

DEAD_BAND = 0.05
"""Samples: less is the noise of the measurement. At 4 kHz 0.05 samples leave a twelfth of the echo."""

LOWEST_COHERENCE, JUMP_COHERENCE = 0.5, 0.6
"""Below, what is heard is not the echo alone, or the path is not known well enough to tell."""

JUMP_RATIO = 0.8
"""The fit without the jump must be this much worse."""

SHARE = 0.3
"""Of a small slip that is taken up at once."""

RATE_SHARE = 7.5e-6
"""Of a slip of one sample that the rate takes up; a sample in 16,000 is 62 millionths."""

FASTEST = 300e-6
"""No two clocks differ by more."""


class Slip:
    """Where to read what was played so that it fits what is heard."""

    def __init__(self) -> None:
        self.samples = 0.0
        """How much later than given what was played is read now."""
        self.rate = 0.0
        """Samples that this grows by with each sample."""
        self._fits = np.zeros(2 * _EDGE + 1)
        self._powers = np.zeros(2)
        self._compared = 0
        self._since_jump = 0

    def advance(self, n_samples: int) -> None:
        """Let time go by."""
        self.samples += self.rate * n_samples
        self.samples = min(max(self.samples, -float(MARGIN - HALF_WIDTH)), 4.0 * MARGIN)
        self._since_jump += n_samples

    def read(self, played: Signal, n_samples: int) -> Signal:
        """The last samples of what was played, shifted."""
        whole = math.floor(self.samples)
        end = played.size - MARGIN - whole
        part = played[end - n_samples - HALF_WIDTH : end + HALF_WIDTH]
        return np.convolve(part, _between(self.samples - whole), "valid")

    def follow(self, predicted: Signal, heard: Signal) -> None:
        """Compare the last `COMPARED` samples of the echo predicted and of what was heard, and shift."""
        self._compare(predicted, heard[_EDGE:-_EDGE])
        if self._compared < _ENOUGH // 2 or not self._powers.all():
            return
        best = int(np.argmax(self._fits))
        coherence = self._fits[best] / math.sqrt(self._powers.prod())
        if coherence < LOWEST_COHERENCE or best in (0, 2 * _EDGE):
            return
        slip = best - _EDGE + _find_peak(*self._fits[best - 1 : best + 2])
        if abs(slip) > SMALL:
            is_clear = self._fits[_EDGE] < JUMP_RATIO * self._fits[best] and coherence >= JUMP_COHERENCE
            if is_clear and self._compared >= _ENOUGH:
                self._jump(slip)
        elif abs(slip) > DEAD_BAND:
            self._shift(SHARE * slip)
            self._set_rate(self.rate + RATE_SHARE * slip)

    def _compare(self, predicted: Signal, middle: Signal) -> None:
        size = 2 * COMPARED
        fits = np.fft.irfft(np.fft.rfft(middle, size) * np.conj(np.fft.rfft(predicted, size)), size)
        lags = (np.arange(-_EDGE, _EDGE + 1) - _EDGE) % size
        self._fits = _FADING * self._fits + fits[lags]
        self._powers = _FADING * self._powers + (middle @ middle, predicted @ predicted)
        self._compared += 1

    def _shift(self, samples: float) -> None:
        self.samples += samples
        lags = np.arange(self._fits.size)
        self._fits = np.interp(lags + samples, lags, self._fits)

    def _jump(self, samples: float) -> None:
        """Take up a slip at once; over a long silence it tells the rate, too."""
        self.samples += samples
        rate = samples / max(self._since_jump, 1)
        if abs(rate) < FASTEST:
            self._set_rate(self.rate + rate / 2)
        self._fits[:] = 0.0
        self._powers[:] = 0.0
        self._compared = self._since_jump = 0

    def _set_rate(self, rate: float) -> None:
        self.rate = min(max(rate, -FASTEST), FASTEST)


def _between(part: float) -> Signal:
    """The filter that delays by a part of a sample."""
    taps = np.arange(-HALF_WIDTH, HALF_WIDTH + 1)
    filter_ = np.sinc(taps - part) * np.kaiser(taps.size, 6.0)
    delayed: Signal = filter_ / filter_.sum()
    return delayed


def _find_peak(before: float, at: float, after: float) -> float:
    """Where the parabola through three neighbouring values is highest, from the middle one."""
    bend = before - 2 * at + after
    return 0.5 * (before - after) / bend if bend else 0.0
