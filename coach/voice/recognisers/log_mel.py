"""The log-mel picture of sound that Whisper was trained on, in numpy.

Published with the model (Radford and others 2022, "Robust Speech Recognition via Large-Scale Weak
Supervision", section 2.2; the reference code's `log_mel_spectrogram`). Never pads to thirty seconds: the
caller says how much.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from coach.voice.recogniser import SAMPLE_RATE_HZ, Samples

BANDS = 80
WINDOW = 400
"""25 ms."""

HOP = 160
"""10 ms: one column of the picture."""

TOP_HZ = 8000.0
FLOOR = 1e-10
RANGE_DECADES = 8.0
"""Nothing is darker than this far below the brightest point."""

LINEAR_HZ, LINEAR_BANDS = 1000.0, 15.0
STEP = 27.0 / np.log(6.4)
"""The mel scale of Slaney's Auditory Toolbox (1998): 15 steps up to 1,000 Hz, then 27 to each 6.4 times."""


def picture(audio: Samples, columns: int) -> NDArray[np.float32]:
    """The picture of `columns` times 10 ms from the start of the sound, shape (80, columns).

    Sound that is shorter is followed by silence, longer sound is cut.
    """
    sound = audio[: columns * HOP]
    padded = np.pad(np.pad(sound, (0, columns * HOP - len(sound))), WINDOW // 2, mode="reflect")
    sounding = min(columns, len(sound) // HOP + 3)
    frames = sliding_window_view(padded, WINDOW)[::HOP][:sounding]
    power = np.abs(np.fft.rfft(frames * _window(), axis=1)) ** 2
    decades = np.full((BANDS, columns), np.log10(FLOOR), np.float32)
    decades[:, :sounding] = np.log10(np.maximum(_filters() @ power.T.astype(np.float32), FLOOR))
    decades = np.maximum(decades, decades.max() - RANGE_DECADES)
    shown: NDArray[np.float32] = ((decades + 4.0) / 4.0).astype(np.float32)
    return shown


@cache
def _window() -> NDArray[np.float32]:
    window: NDArray[np.float32] = np.hanning(WINDOW + 1)[:-1].astype(np.float32)
    return window


@cache
def _filters() -> NDArray[np.float32]:
    """Triangles of equal area on the mel scale, shape (80, 201)."""
    corners_hz = _to_hz(np.linspace(0.0, float(_to_mel(np.array(TOP_HZ))), BANDS + 2))
    lines_hz = np.fft.rfftfreq(WINDOW, 1 / SAMPLE_RATE_HZ)
    low, middle, high = (corners_hz[k : k + BANDS, None] for k in range(3))
    rising = (lines_hz - low) / (middle - low)
    falling = (high - lines_hz) / (high - middle)
    return (np.maximum(0, np.minimum(rising, falling)) * 2 / (high - low)).astype(np.float32)


def _to_mel(hz: NDArray[np.float64]) -> NDArray[np.float64]:
    above = LINEAR_BANDS + STEP * np.log(np.maximum(hz, LINEAR_HZ) / LINEAR_HZ)
    return np.where(hz >= LINEAR_HZ, above, hz * LINEAR_BANDS / LINEAR_HZ)


def _to_hz(mel: NDArray[np.float64]) -> NDArray[np.float64]:
    above = LINEAR_HZ * np.exp((np.maximum(mel, LINEAR_BANDS) - LINEAR_BANDS) / STEP)
    return np.where(mel >= LINEAR_BANDS, above, mel * LINEAR_HZ / LINEAR_BANDS)
