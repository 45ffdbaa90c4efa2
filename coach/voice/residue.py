"""What is left of the coach's sound after the echo canceller, told from a voice and covered by the cabin's
sound.

A step of sound that is no louder than what the canceller usually leaves of such an echo is explained by it:
the cabin's own sound, made from its spectrum, takes its place. A louder one has somebody else in it and
passes. Pure; never touches sound while the coach is silent.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from coach.voice.echo_path import Signal
from coach.voice.recogniser import SAMPLE_RATE_HZ

STEP = SAMPLE_RATE_HZ // 100
"""Told in steps of 10 ms."""

CABIN_BLOCKS = 125
"""Four seconds of blocks of 32 ms from before the coach spoke tell how the cabin sounds."""

RING = 0.85
"""An echo rings on: with each step its power falls to this, 60 dB in 0.85 s."""

KEPT_STEPS = 300
"""What was left of the last 3 s of echo tells what is usual."""

FEWEST_STEPS = 30
"""Before so many, all that is no louder than the echo counts as left of it."""

LEAST_LEFT = 1e-3
"""No canceller leaves less than -30 dB of an echo for long."""

MARGIN = 16.0
"""What is left varies from step to step: 12 dB over the median explain all but a few."""

RELEASE = 0.8
"""A word's end passes too: the way closes by so much a step."""

_WINDOW = 512


class Residue:
    """Follows what the canceller leaves and passes what is more than that."""

    def __init__(self) -> None:
        self._quiet: deque[Signal] = deque(maxlen=CABIN_BLOCKS)
        self._cabin_power = 0.0
        self._cabin = np.zeros(0)
        self._cursor = 0
        self._left: deque[float] = deque(maxlen=KEPT_STEPS)
        self._echo_power = 0.0
        self._opening = 1.0
        self._last = np.zeros(2)
        self._random = np.random.default_rng(1)

    @property
    def usual_share(self) -> float:
        """The power usually left of an echo, as a share of it; 1 before enough was heard."""
        if len(self._left) < FEWEST_STEPS:
            return 1.0
        return min(1.0, float(np.median(self._left)))

    def note_cabin(self, sound: Signal) -> None:
        """Take in a block from while the coach is silent."""
        self._quiet.append(sound)
        self._cabin = self._cabin[:0]
        self._echo_power, self._opening = 0.0, 1.0
        self._last[:] = sound[-1], 0.0

    def cover(self, rest: Signal, echo: Signal) -> Signal:
        """A block after the canceller and the echo it took out, shape (n,) each: what is told to be left of
        the coach gives way to the cabin's sound."""
        if not self._cabin.size:
            self._learn_cabin()
        rest_powers = _measure_steps(rest, self._last[0])
        echo_powers = _measure_steps(echo, self._last[1])
        self._last[:] = rest[-1], echo[-1]
        openings = [self._judge(left, echo) for left, echo in zip(rest_powers, echo_powers, strict=True)]
        return self._mix(rest, openings)

    def _judge(self, rest_power: float, echo_power: float) -> tuple[float, float]:
        """How far the way is open at the beginning and at the end of a step, 0-1."""
        self._echo_power = max(echo_power, RING * self._echo_power)
        if self._echo_power > self._cabin_power / 10:
            self._left.append(max(rest_power - self._cabin_power, 0.0) / self._echo_power)
        share = min(1.0, MARGIN * max(self.usual_share, LEAST_LEFT))
        explained = max(0.0, share * self._echo_power - self._cabin_power)
        before = self._opening
        opening = np.sqrt(max(0.0, 1.0 - explained / rest_power)) if rest_power > 0 else 0.0
        self._opening = max(float(opening), RELEASE * before)
        return before, self._opening

    def _mix(self, rest: Signal, openings: list[tuple[float, float]]) -> Signal:
        ramps = [np.linspace(before, after, STEP) for before, after in openings]
        opening = np.concatenate(ramps)[: rest.size]
        cabin = np.resize(np.roll(self._cabin, -self._cursor), rest.size)
        self._cursor = (self._cursor + rest.size) % self._cabin.size
        mixed: Signal = opening * rest + np.sqrt(1.0 - opening**2) * cabin
        return mixed

    def _learn_cabin(self) -> None:
        """Make a second of sound with the cabin's spectrum: its median, which no word raises."""
        heard = np.concatenate([np.zeros(_WINDOW), *self._quiet])
        frames = heard[: heard.size // _WINDOW * _WINDOW].reshape(-1, _WINDOW)
        frames = frames[1:] if len(frames) > 1 else frames
        powers = np.abs(np.fft.rfft(frames * np.hanning(_WINDOW))) ** 2
        # The median of a noise's power lies ln 2 below its mean.
        median = np.median(powers, axis=0) / np.log(2) / (0.375 * _WINDOW)
        lines = SAMPLE_RATE_HZ // 2 + 1
        density = np.interp(np.linspace(0, 1, lines), np.linspace(0, 1, median.size), median)
        phases = self._random.uniform(0, 2 * np.pi, lines)
        self._cabin = np.fft.irfft(np.sqrt(density * SAMPLE_RATE_HZ) * np.exp(1j * phases), SAMPLE_RATE_HZ)
        self._cabin_power = float(np.mean(_measure_steps(self._cabin, self._cabin[-1])))


def _measure_steps(sound: Signal, before: float) -> Signal:
    """The power of each step's differences: high frequencies, where a cabin is quiet and a voice is not."""
    steps = np.diff(sound, prepend=before) ** 2
    whole = -(-steps.size // STEP)
    padded = np.zeros(whole * STEP)
    padded[: steps.size] = steps
    sizes = np.full(whole, STEP)
    sizes[-1] = steps.size - (whole - 1) * STEP
    powers: Signal = padded.reshape(whole, STEP).sum(axis=1) / sizes
    return powers
