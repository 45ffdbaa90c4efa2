"""A sounddevice input stream as `coach.voice.microphone` wants it.

Takes 16 kHz mono where the device gives it, else the device's own rate resampled. The one place where sound
comes in from PortAudio; never watches whether it keeps coming.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from coach.voice.ear import Block
from coach.voice.microphone import BLOCK_S, OLDEST_S, Arrived, Opener, Stream, load_sounddevice
from coach.voice.pcm import resample
from coach.voice.recogniser import SAMPLE_RATE_HZ

FOLLOW_SHARE = 0.05
"""Block times jitter by tens of milliseconds, the sound itself does not: this share of each difference is
believed, so that half a second of blocks follows a clock that drifts."""

JUMP_S = 0.2
"""A difference this large is no jitter: sound was lost."""

CONTEXT_SAMPLES = 128
"""Longer than one side of the resampling filter."""

LATENCY_S = 0.02
"""What is asked of the device: at `low` a null sink of PulseAudio runs at a rate of its own."""


def choose_input(device: int | str | None, clock: Callable[[], float]) -> Opener:
    """An opener for a device (its number, a part of its name, None: the system's choice).

    `clock` is session time. `SetupError` where PortAudio is missing.
    """
    sounddevice = load_sounddevice()

    def open_stream(arrived: Arrived, finished: Callable[[], None]) -> Stream:
        try:
            return _open(sounddevice, device, clock, arrived, finished)
        except (sounddevice.PortAudioError, ValueError) as exc:
            raise OSError(f"microphone: {_tell(exc)}") from exc

    return open_stream


def _tell(error: Exception) -> str:
    return str(error.args[0] if error.args else error).splitlines()[0]


def _open(
    sounddevice: Any,
    device: int | str | None,
    clock: Callable[[], float],
    arrived: Arrived,
    finished: Callable[[], None],
) -> Stream:
    rate_hz = _choose_rate(sounddevice, device)
    resampler = Resampler(rate_hz)

    dater = Dater()

    def callback(sound: Any, _frames: int, times: Any, status: Any) -> None:
        block_s = len(sound) / rate_hz
        at_s = dater.date(clock() - _find_age(times, block_s), block_s)
        block = resampler.resample(sound[:, 0])
        arrived(block, at_s - resampler.delay_s, bool(status.input_overflow))

    stream = sounddevice.InputStream(
        samplerate=rate_hz,
        blocksize=find_block_size(rate_hz),
        device=device,
        channels=1,
        dtype="int16",
        latency=LATENCY_S,
        callback=callback,
        finished_callback=finished,
    )
    stream.start()
    opened: Stream = stream
    return opened


class Dater:
    """Smooths the times of blocks that follow one another without a hole."""

    def __init__(self) -> None:
        self._next_s: float | None = None

    def date(self, measured_s: float, block_s: float) -> float:
        """The time of a block's first sample, given the one measured and the block's length."""
        at_s = measured_s
        if self._next_s is not None and abs(measured_s - self._next_s) < JUMP_S:
            at_s = self._next_s + FOLLOW_SHARE * (measured_s - self._next_s)
        self._next_s = at_s + block_s
        return at_s


def _find_age(times: Any, block_s: float) -> float:
    """How long ago the first sample of a block was in the air, s."""
    age_s = float(times.currentTime - times.inputBufferAdcTime)
    # Some drivers leave the field at zero or count on another clock.
    return age_s if 0 < age_s < OLDEST_S else block_s


def _choose_rate(sounddevice: Any, device: int | str | None) -> int:
    try:
        sounddevice.check_input_settings(device=device, channels=1, dtype="int16", samplerate=SAMPLE_RATE_HZ)
    except sounddevice.PortAudioError:
        return int(sounddevice.query_devices(device, "input")["default_samplerate"])
    return SAMPLE_RATE_HZ


class Resampler:
    """Brings blocks of the device's rate to the ear's, without a seam between them."""

    def __init__(self, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        down = rate_hz // math.gcd(rate_hz, SAMPLE_RATE_HZ)
        # Context on both sides, longer than the filter, in whole output samples.
        self._context = 0 if rate_hz == SAMPLE_RATE_HZ else -(-CONTEXT_SAMPLES // down) * down
        self._before = np.zeros(2 * self._context, np.int16)
        self.delay_s = self._context / rate_hz
        """How far what comes out lies behind what went in."""

    def resample(self, block: Block) -> Block:
        """The block at the ear's rate; its length must come out even, as `find_block_size` makes it."""
        if not self._context:
            return block.copy()
        sound = np.concatenate([self._before, block])
        self._before = sound[len(block) :]
        edge = self._context * SAMPLE_RATE_HZ // self._rate_hz
        inside = resample(sound, self._rate_hz, SAMPLE_RATE_HZ)[edge:-edge]
        return np.clip(np.rint(inside), -32768, 32767).astype(np.int16)


def find_block_size(rate_hz: int) -> int:
    """Samples of a block of about `BLOCK_S` that are a whole number of samples at the ear's rate too."""
    down = rate_hz // math.gcd(rate_hz, SAMPLE_RATE_HZ)
    return max(round(BLOCK_S * rate_hz / down), 1) * down
