"""The coach's three tones, each one continuous sound told from the others by pitch and by shape.

Never keyed, never near a navigation tone: an ident is 1,020 Hz for a VOR and 1,350 Hz for a DME
(AIM 1-1-7f), a marker beacon 400, 1,300 or 3,000 Hz (value from memory). Never plays anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from coach.session.actions import Tone
from coach.voice.pcm import RATE_HZ, Samples, encode_samples, sample_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """How a tone runs.

    MIL-STD-1472E as read in a scanned copy: tones between 500 and 3,000 Hz (5.3.3.1.1), at most four to be
    known apart (5.3.4.3.1), none like a navigation signal or coded radio (5.3.4.3.6). Its least length of
    0.5 s (5.3.6.5) is for warnings: these are none, and are kept shorter and softer than one.
    """

    from_hz: float
    to_hz: float
    """The pitch glides evenly from `from_hz` to `to_hz`; equal: it stays."""

    length_s: float
    ramp_s: float
    """Raised-cosine rise and fall at both ends: no click."""

    peak: float
    """Part of full scale, 0-1. A spoken word peaks at 0.4 to 0.8 (measured)."""


SHAPES = {
    Tone.CUE: Shape(from_hz=780, to_hz=780, length_s=0.18, ramp_s=0.05, peak=0.12),
    Tone.HEARD: Shape(from_hz=1_550, to_hz=2_000, length_s=0.14, ramp_s=0.03, peak=0.14),
    Tone.LOW: Shape(from_hz=600, to_hz=510, length_s=0.32, ramp_s=0.04, peak=0.22),
}
"""Flat and soft, short and rising, long and falling."""


@lru_cache(maxsize=len(SHAPES))
def render_tone(tone: Tone) -> Samples:
    """Return a tone as samples at 48 kHz; the array is shared and read-only."""
    shape = SHAPES[tone]
    pitch_hz = np.linspace(shape.from_hz, shape.to_hz, sample_at(shape.length_s))
    sound = np.sin(2 * np.pi * np.cumsum(pitch_hz) / RATE_HZ) * _envelope(
        pitch_hz.size, sample_at(shape.ramp_s)
    )
    samples = encode_samples(shape.peak * sound)
    samples.flags.writeable = False
    return samples


def _envelope(n_samples: int, n_ramp: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    ramp = 0.5 - 0.5 * np.cos(np.linspace(0, np.pi, n_ramp))
    return np.concatenate([ramp, np.ones(n_samples - 2 * n_ramp), ramp[::-1]])
