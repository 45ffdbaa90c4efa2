"""The cheap first stage of the endpoint: is there more in the speech band than the cabin makes?

Runs on every frame, so it costs next to nothing; what it lets through, the voice-activity model judges. It
never says that somebody speaks.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coach.voice.recogniser import SAMPLE_RATE_HZ, Samples

FRAME_SAMPLES = 512
"""One frame, 32 ms: what the voice-activity model takes at a time."""

FRAME_S = FRAME_SAMPLES / SAMPLE_RATE_HZ

LOW_HZ, HIGH_HZ = 300.0, 3400.0
"""The telephone band: propeller and engine orders lie mostly below it."""

BANDS = 6
"""The band is cut in six, evenly in pitch."""

COUNTED_BANDS = 3
"""A voice stands out of cabin noise in some of the bands: the loudest three count."""

MEMORY_FRAMES = 125
"""The floor is the median of the last 4 s outside of voices: a change of power setting is soon part of it."""

UPDATE_FRAMES = 8
"""The floor is taken anew every quarter of a second."""

OPEN_DB = 2.8
"""Excess over the floor that opens the gate.

Measured with the cabin noise of `audio_tests`: one frame in twenty of noise alone reaches it, and every one
of 89 spoken words at 10, 0 and -5 dB (`audio_tests/README.md`).
"""

EXCESS_LIMIT_DB = 12.0
"""No band counts for more: a whistle in one band is no voice."""

SILENCE_DB = -90.0
"""Digital silence counts as this much, so that a logarithm exists."""


class Gate:
    """Tracks the floor of six bands and tells how far each frame stands above it."""

    def __init__(self) -> None:
        self._window = np.hanning(FRAME_SAMPLES).astype(np.float32)
        self._bands = _build_bands()
        self._memory = np.zeros((MEMORY_FRAMES, BANDS), np.float32)
        self._rms_memory = np.zeros(MEMORY_FRAMES, np.float32)
        self._seen = 0
        self._floor_db: NDArray[np.float32] | None = None
        self.cabin_rms = 0.0
        """Root mean square of the cabin over all frequencies, full scale 1; 0 before anything was heard."""

    def measure(self, frame: Samples, *, is_voice: bool = False) -> float:
        """Excess of one frame over the floor, dB; the floor learns from it unless it is known for a voice."""
        levels_db = self._measure_bands(frame)
        if self._floor_db is None:
            self._floor_db = levels_db
            self.cabin_rms = _measure_rms(frame)
        excess_db = np.clip(levels_db - self._floor_db, 0.0, EXCESS_LIMIT_DB)
        if not is_voice:
            self._remember(levels_db, _measure_rms(frame))
        return float(np.sort(excess_db)[-COUNTED_BANDS:].mean())

    def _measure_bands(self, frame: Samples) -> NDArray[np.float32]:
        spectrum = np.abs(np.fft.rfft(frame * self._window)) ** 2
        power = spectrum.astype(np.float32) @ self._bands
        levels_db: NDArray[np.float32] = np.maximum(10 * np.log10(power + 1e-12), np.float32(SILENCE_DB))
        return levels_db

    def _remember(self, levels_db: NDArray[np.float32], rms: float) -> None:
        self._memory[self._seen % MEMORY_FRAMES] = levels_db
        self._rms_memory[self._seen % MEMORY_FRAMES] = rms
        self._seen += 1
        if self._seen % UPDATE_FRAMES == 0:
            known = min(self._seen, MEMORY_FRAMES)
            self._floor_db = np.median(self._memory[:known], axis=0).astype(np.float32)
            self.cabin_rms = float(np.median(self._rms_memory[:known]))


def _measure_rms(frame: Samples) -> float:
    return float(np.sqrt(np.dot(frame, frame) / len(frame)))


def _build_bands() -> NDArray[np.float32]:
    """One column a band, each summing the power of its share of the spectrum's lines."""
    lines_hz = np.fft.rfftfreq(FRAME_SAMPLES, 1 / SAMPLE_RATE_HZ)
    edges_hz = np.geomspace(LOW_HZ, HIGH_HZ, BANDS + 1)
    columns = [(lines_hz >= low) & (lines_hz < high) for low, high in pairwise(edges_hz)]
    return (np.stack(columns, axis=1) / FRAME_SAMPLES**2).astype(np.float32)
