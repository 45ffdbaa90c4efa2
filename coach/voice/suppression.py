"""Takes steady noise out of one utterance, for recognisers that hear worse in it.

WebRTC's noise suppressor in PyPI `livekit`. Whether a recogniser hears better with it is measured, never
assumed: the best ear hears worse. Each utterance is taken afresh: the same sound always comes out the same.
"""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np

from coach.voice.recogniser import SAMPLE_RATE_HZ, Samples

STEP = SAMPLE_RATE_HZ // 100
"""The suppressor takes 10 ms at a time."""

CABIN_SAMPLES = 2048
"""The first 128 ms of an utterance hold no voice yet: the ear keeps 384 ms before a voice is noticed, and
looks for its onset in the last 250 ms of them."""

RUN_IN_SAMPLES = SAMPLE_RATE_HZ
"""Cabin that the suppressor learns the noise from before the utterance, one second."""


class Suppressor(Protocol):
    """Takes noise out."""

    def suppress(self, audio: Samples) -> Samples:
        """The utterance with less noise, as long as it came and at most 10 ms late."""


def load_suppressor() -> Suppressor | None:
    """The suppressor, or None where its library is not installed."""
    try:
        from livekit import rtc
    except ImportError:
        return None
    return WebRtcSuppressor(rtc)


class WebRtcSuppressor:
    """WebRTC's noise suppressor and high-pass filter."""

    def __init__(self, rtc: Any) -> None:
        self._rtc = rtc

    def suppress(self, audio: Samples) -> Samples:
        """The utterance with less noise; the first `CABIN_SAMPLES` are taken for the cabin alone."""
        run_in = _repeat_cabin(audio)
        sound = np.concatenate([run_in, audio, np.zeros(STEP, np.float32)])
        steps = (np.clip(sound, -1, 1) * 32767).astype("<i2")
        module = self._rtc.AudioProcessingModule(noise_suppression=True, high_pass_filter=True)
        cleaned = [
            self._clean(module, steps[first : first + STEP]) for first in range(0, len(steps) - STEP, STEP)
        ]
        whole = np.concatenate(cleaned)[len(run_in) : len(run_in) + len(audio)]
        return whole.astype(np.float32) / np.float32(32767)

    def _clean(self, module: Any, step: Any) -> Any:
        frame = self._rtc.AudioFrame(bytearray(step.tobytes()), SAMPLE_RATE_HZ, 1, STEP)
        module.process_stream(frame)
        return np.frombuffer(bytes(frame.data), "<i2")


def _repeat_cabin(audio: Samples) -> Samples:
    """A second of the cabin, forwards and backwards so that no seam clicks."""
    cabin = audio[:CABIN_SAMPLES]
    swing = np.concatenate([cabin, cabin[::-1]])
    repeated = np.tile(swing, RUN_IN_SAMPLES // max(len(swing), 1) + 1)
    return repeated[: RUN_IN_SAMPLES if len(swing) else 0]
