"""How long a way of saying usually takes, and how far an utterance is from it.

A sentence that begins with a command ("established on the localizer") is told from the command by its length.
Pure; counts letters and never listens.
"""

from __future__ import annotations

import math
import unicodedata

START_S, LETTER_S = 0.29, 0.063
"""Usual length of a phrase: least squares over 402 spoken phrases of 46 voices (`audio_tests/README.md`)."""

LONGEST_RATIO = 1.7
"""The slowest of a hundred takes this many times the usual length (measured: 1.68)."""

LONG_MARGIN_S = 0.3
"""A breath or a click counts as voice now and then."""


def find_usual_s(way: str) -> float:
    """Usual length of a way of saying, s; a syllable of Hangul counts its two or three letters."""
    letters = sum(char.isalpha() for char in unicodedata.normalize("NFD", way))
    return START_S + LETTER_S * letters


def find_longest_s(way: str) -> float:
    """A voice that lasts longer said something else, s."""
    return LONGEST_RATIO * find_usual_s(way) + LONG_MARGIN_S


def compare_length(way: str, voice_s: float) -> float:
    """Natural logarithm of a voice's length over the usual one: 0 as usual, 0.7 twice as long."""
    return math.log(max(voice_s, 0.03) / find_usual_s(way))
