"""Takes the coach's own sound out of the microphone's, for a loudspeaker instead of a headset.

WebRTC's echo canceller in PyPI `livekit`, fed with what the speaker plays. Noise suppression and gain stay
off: they harm the recogniser. While the coach is silent the sound passes untouched. Never decides who speaks.
"""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from coach.voice.recogniser import SAMPLE_RATE_HZ

Block = NDArray[np.int16]

STEP = SAMPLE_RATE_HZ // 100
"""The canceller takes 10 ms at a time."""

LINGER_S = 0.5
"""How long after the coach's last sample its echo is still in the room."""


class Cleaner(Protocol):
    """Cleans a stream of blocks."""

    def clean(self, block: Block, echo: Block) -> Block:
        """The sound without the echo of `echo`, what was played in the same time.

        Whole steps of 10 ms come out; what is left of a block comes with the next one.
        """


def load_cleaner() -> EchoCanceller | None:
    """The canceller, or None where its library is not installed."""
    try:
        from livekit import rtc
    except ImportError:
        return None
    return EchoCanceller(rtc)


class EchoCanceller:
    """WebRTC's echo canceller."""

    def __init__(self, rtc: Any) -> None:
        self._rtc = rtc
        self._module = rtc.AudioProcessingModule(echo_cancellation=True)
        self._rest = np.empty((2, 0), np.int16)
        self._lingers = 0

    def clean(self, block: Block, echo: Block) -> Block:
        """The sound without the echo; untouched while nothing was played for half a second."""
        both = np.concatenate([self._rest, np.stack([block, echo])], axis=1)
        whole = both.shape[1] // STEP * STEP
        self._rest = both[:, whole:]
        cleaned = [self._clean_step(*both[:, first : first + STEP]) for first in range(0, whole, STEP)]
        return np.concatenate(cleaned) if cleaned else np.empty(0, np.int16)

    def _clean_step(self, sound: Block, echo: Block) -> Block:
        self._lingers = round(LINGER_S * SAMPLE_RATE_HZ / STEP) if echo.any() else self._lingers - 1
        self._module.process_reverse_stream(self._make_frame(echo))
        self._module.set_stream_delay_ms(0)
        frame = self._make_frame(sound)
        self._module.process_stream(frame)
        # The canceller runs on, so that it stays tuned, but only an echo is worth its touch.
        return np.frombuffer(bytes(frame.data), np.int16) if self._lingers > 0 else sound

    def _make_frame(self, sound: Block) -> Any:
        return self._rtc.AudioFrame(bytearray(sound.tobytes()), SAMPLE_RATE_HZ, 1, STEP)
