"""The coach's voice is known again, whatever its way into the microphone."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.likeness import HOP, LONGEST_DELAY, OWN, OwnVoice, find_likeness
from coach.voice.recogniser import SAMPLE_RATE_HZ

LEAD = LONGEST_DELAY * HOP


def make_talk(seed: int, seconds: float = 1.0) -> np.ndarray:
    """Syllables, each with its own band and length, in a rhythm of their own."""
    rng = np.random.default_rng(seed)
    syllables: list[np.ndarray] = []
    while sum(map(len, syllables)) < seconds * SAMPLE_RATE_HZ:
        t = np.arange(rng.integers(800, 4000)) / SAMPLE_RATE_HZ
        tone = np.sin(2 * np.pi * rng.uniform(300, 3500) * t + 3 * rng.standard_normal(len(t)))
        syllables.append(3000 * rng.uniform(0.1, 1) * tone * np.hanning(len(t)))
    return np.concatenate(syllables)[: round(seconds * SAMPLE_RATE_HZ)]


def played(seed: int) -> np.ndarray:
    return np.concatenate([np.zeros(LEAD), make_talk(seed)])


@pytest.mark.parametrize("delay_s", [0.0, 0.06, 0.35])
def test_own_voice_is_known_at_every_delay(delay_s: float) -> None:
    late = round(delay_s * SAMPLE_RATE_HZ)
    whole = np.concatenate([np.zeros(LEAD), make_talk(1, 2.0)])
    heard = 0.3 * whole[LEAD + 8000 - late : LEAD + 24_000 - late]
    assert find_likeness(heard, whole[8000 : LEAD + 24_000]) > OWN


def test_somebody_else_is_not_taken_for_the_coach() -> None:
    assert find_likeness(make_talk(2), played(1)) < OWN


def test_somebody_else_over_a_faint_rest_of_the_coach_is_not_either() -> None:
    assert find_likeness(make_talk(2) + 0.1 * make_talk(1), played(1)) < OWN


def test_too_short_or_silent_is_like_nothing() -> None:
    assert find_likeness(make_talk(1)[:1000], played(1)) == 0.0
    assert find_likeness(np.zeros(16_000), played(1)) == pytest.approx(0.0)


def test_it_is_asked_with_the_times_of_the_session() -> None:
    talk = make_talk(3).astype(np.int16)
    own = note(talk, heard=make_talk(6).astype(np.int16))
    assert own.is_own(talk.astype(float), 50.0)
    assert not own.is_own(make_talk(4), 50.0)
    assert not own.is_own(talk.astype(float), 70.0)


def note(talk: np.ndarray, *, heard: np.ndarray) -> OwnVoice:
    own = OwnVoice()
    for first in range(0, len(talk), 800):
        part = slice(first, first + 800)
        own.note(talk[part], heard[part], 50.0 + first / SAMPLE_RATE_HZ)
    return own


def test_what_a_canceller_makes_of_the_coach_is_judged_by_what_was_heard() -> None:
    talk = make_talk(3).astype(np.int16)
    own = note(talk, heard=talk // 2)
    assert own.is_own(make_talk(5), 50.0)


def test_a_pilot_over_the_coach_is_not_the_coach() -> None:
    talk, pilot = make_talk(3).astype(np.int16), make_talk(5)
    own = note(talk, heard=(talk + pilot).astype(np.int16))
    assert not own.is_own(pilot, 50.0)


def test_a_pilot_with_a_headset_is_no_echo_though_no_path_was_ever_found() -> None:
    own = note(make_talk(3).astype(np.int16), heard=make_talk(5).astype(np.int16))
    assert not own.is_own(make_talk(5), 50.0)
