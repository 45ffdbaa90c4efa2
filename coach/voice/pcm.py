"""Sound as numbers: mono 16-bit samples at 48 kHz, resampled, trimmed, faded.

Never opens a device and never keeps state.
"""

from __future__ import annotations

import io
import math
import sys
import wave
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

RATE_HZ = 48_000
"""Sample rate of everything the coach sounds."""

Samples = NDArray[np.int16]
"""Mono sound, shape (n,), 16-bit, at `RATE_HZ`."""

ONSET_RATIO = 0.01
"""A word begins with the first sample above this part of its peak (-40 dB); measured over 21 first words in
three voices, -40 and -30 dB lie at most 5 ms apart."""

TAIL_RATIO = 0.003
"""A word ends with the last sample above this part of its peak (-50 dB)."""

FADE_S = 0.005
"""Length of the fade of a sound that is cut off: no click, and gone within one block."""

_TAPS_A_SIDE = 32
_KAISER_BETA = 9.0
_FULL_SCALE = 32_767


def sample_at(at_s: float) -> int:
    """Return the sample that sounds at a time, both counted from the session's start."""
    return round(at_s * RATE_HZ)


def seconds_at(sample: int) -> float:
    """Return the time at which a sample sounds, both counted from the session's start."""
    return sample / RATE_HZ


def encode_samples(sound: NDArray[np.floating]) -> Samples:
    """Return sound in -1..1 as 16-bit samples; what is louder is clipped."""
    samples: Samples = np.rint(np.clip(sound, -1.0, 1.0) * _FULL_SCALE).astype(np.int16)
    return samples


def scale(sound: Samples, gain: float) -> Samples:
    """Return the sound at `gain` (0-1 and above) times its loudness, clipped."""
    if gain == 1.0:
        return sound
    scaled: Samples = np.clip(np.rint(sound * gain), -_FULL_SCALE, _FULL_SCALE).astype(np.int16)
    return scaled


def trim(sound: Samples) -> Samples:
    """Return the sound without the silence around it: sample 0 is the onset of the first word."""
    if not sound.size:
        return sound
    level = np.abs(sound.astype(np.int32))
    peak = int(level.max())
    if peak == 0:
        return sound[:0]
    first = int(np.argmax(level >= max(1.0, peak * ONSET_RATIO)))
    last = level.size - int(np.argmax(level[::-1] >= max(1.0, peak * TAIL_RATIO)))
    return sound[first:last].copy()


def fade_out(sound: Samples) -> Samples:
    """Return the first `FADE_S` of a sound, falling to nothing: how a sound is cut off."""
    head = sound[: sample_at(FADE_S)]
    ramp = 0.5 + 0.5 * np.cos(np.linspace(0.0, math.pi, head.size))
    return np.rint(head * ramp).astype(np.int16)


def resample(sound: NDArray[np.floating], from_hz: int, to_hz: int) -> NDArray[np.float64]:
    """Return the sound at another rate, band-limited to the lower of the two.

    A windowed-sinc polyphase filter: 0.3 dB down at 0.9 of the band, images and aliases below -95 dB
    (measured). The times of the samples stay: output n lies at input n * from_hz / to_hz; the length is
    rounded up.
    """
    if from_hz == to_hz:
        return np.asarray(sound, dtype=np.float64)
    common = math.gcd(from_hz, to_hz)
    up, down = to_hz // common, from_hz // common
    bank = _filter_bank(up, down)
    taps = bank.shape[1]
    windows = sliding_window_view(np.pad(sound, (taps // 2 - 1, taps // 2 + down)), taps)
    out = np.empty(-(-sound.size * up // down))
    for residue in range(min(up, out.size)):
        first, phase = divmod(residue * down, up)
        branch = out[residue::up]
        branch[:] = windows[first::down][: branch.size] @ bank[phase]
    return out


@lru_cache(maxsize=8)
def _filter_bank(up: int, down: int) -> NDArray[np.float64]:
    """Return one filter for each of `up` positions between two input samples."""
    cutoff = min(1.0, up / down) * 0.95
    half = math.ceil(_TAPS_A_SIDE / cutoff)
    offset = np.arange(-half + 1, half + 1) - (np.arange(up) / up)[:, None]
    window = np.i0(_KAISER_BETA * np.sqrt(np.clip(1 - (offset / half) ** 2, 0, None))) / np.i0(_KAISER_BETA)
    bank = cutoff * np.sinc(cutoff * offset) * window
    return np.asarray(bank / bank.sum(axis=1, keepdims=True))


def read_sound_file(path: Path) -> Samples:
    """Return a 16-bit sound file as samples at 48 kHz, its channels averaged.

    WAV needs nothing else; the AIFF that macOS writes needs the library soundfile.
    Raises ValueError for a file that is broken or of another width, ImportError without soundfile.
    """
    with path.open("rb") as file:
        is_wav = file.read(4) == b"RIFF"
    rate_hz, sound = _read_wav(path) if is_wav else _read_other(path)
    return encode_samples(resample(sound / (_FULL_SCALE + 1), rate_hz, RATE_HZ))


def _read_wav(path: Path) -> tuple[int, NDArray[np.float64]]:
    try:
        with wave.open(str(path)) as file:
            if file.getsampwidth() != 2:
                raise ValueError(f"{path.name}: expected 16-bit sound, got {8 * file.getsampwidth()}-bit")
            frames = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
            return file.getframerate(), frames.reshape(-1, file.getnchannels()).mean(axis=1)
    except (wave.Error, EOFError) as exc:
        raise ValueError(f"{path.name}: expected a WAV file, got something broken ({exc})") from exc


def _read_other(path: Path) -> tuple[int, NDArray[np.float64]]:
    import soundfile  # only where the voice writes something else than WAV

    try:
        frames, rate_hz = soundfile.read(path, dtype="int16", always_2d=True)
    except soundfile.LibsndfileError as exc:
        raise ValueError(f"{path.name}: expected a sound file, got something broken ({exc})") from exc
    return int(rate_hz), frames.mean(axis=1)


def write_wav(path: Path, sound: Samples) -> None:
    """Write mono (n,) or stereo (n, 2) samples at 48 kHz as a WAV file; OSError where it cannot be."""
    # In memory first: `wave` prints a traceback of its own about a file that it cannot write.
    content = io.BytesIO()
    with wave.open(content, "wb") as file:
        file.setnchannels(1 if sound.ndim == 1 else sound.shape[1])
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(sound.astype("<i2").tobytes() if sys.byteorder == "big" else sound.tobytes())
    path.write_bytes(content.getvalue())
