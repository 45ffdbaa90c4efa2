"""A sample of a station's Morse ident as sound, for the ground.

Never for a flight: there only the station's own ident identifies it, and dots and dashes are drawn. The pitch
is far from that of a navigation aid (1,020 Hz for a VOR, 1,350 Hz for a DME: AIM 1-1-7f).
"""

from __future__ import annotations

import numpy as np

from coach.voice.pcm import RATE_HZ, Samples, encode_samples, sample_at

PITCH_HZ = 600.0

WORDS_A_MINUTE = 7.0
"""As fast as a VOR is keyed (Annex 10 Vol I; value from memory)."""

DOT_S = 1.2 / WORDS_A_MINUTE
"""PARIS is 50 dots with the gap behind it (rule from memory): 171.4 ms."""

RAMP_S = 0.008
"""Rise and fall of each element: no click."""

PEAK = 0.3

_ELEMENTS = {".": 1, "-": 3}
_LETTER_GAP = 3


def render_morse(code: str) -> Samples:
    """Return dots and dashes (a space between characters) as samples at 48 kHz, no silence at its ends.

    A dash is three dots, the gap in a character one, between characters three (ITU-R M.1677-1).
    Raises ValueError for any other sign, and for nothing at all.
    """
    characters = code.split()
    if not characters:
        raise ValueError("there is nothing to sound")
    parts: list[np.ndarray[tuple[int], np.dtype[np.float64]]] = []
    for character in characters:
        for n, sign in enumerate(character):
            if parts:
                parts.append(_silence(1 if n else _LETTER_GAP))
            parts.append(_tone(sign))
    return encode_samples(np.concatenate(parts))


def _silence(dots: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.zeros(sample_at(dots * DOT_S))


def _tone(sign: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    if sign not in _ELEMENTS:
        raise ValueError(f"{sign!r} is neither dot nor dash")
    count = sample_at(_ELEMENTS[sign] * DOT_S)
    n_ramp = sample_at(RAMP_S)
    ramp = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, n_ramp))
    envelope = np.concatenate([ramp, np.ones(count - 2 * n_ramp), ramp[::-1]])
    sound: np.ndarray[tuple[int], np.dtype[np.float64]] = (
        PEAK * envelope * np.sin(2.0 * np.pi * PITCH_HZ * np.arange(count) / RATE_HZ)
    )
    return sound
