"""The echo canceller takes the coach's voice out and leaves the pilot's in."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.voice.cleanup import EchoCanceller
from coach.voice.recogniser import SAMPLE_RATE_HZ

Sound = NDArray[np.int16]
SETTLED = 3 * SAMPLE_RATE_HZ


def make_talk(seed: int, seconds: float = 6.0, level: float = 2000.0) -> Sound:
    """Noise that comes and goes like syllables, in the voice's band."""
    rng = np.random.default_rng(seed)
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    noise = np.convolve(rng.standard_normal(len(t)), np.hanning(8), mode="same")
    return (level * noise * np.maximum(np.sin(2 * np.pi * 3 * t + seed), 0)).astype(np.int16)


def make_room(played: Sound, delay: int = 480) -> NDArray[np.float64]:
    """The sound on its way: delayed, filtered by a few reflections."""
    rng = np.random.default_rng(5)
    response = np.zeros(delay + 1600)
    response[delay] = 0.5
    response[delay + rng.integers(30, 1500, 12)] += 0.1 * rng.standard_normal(12)
    return np.convolve(played, response)[: len(played)]


def make_hiss(n_samples: int) -> NDArray[np.float64]:
    return 20 * np.random.default_rng(8).standard_normal(n_samples)


def clean(sound: NDArray[np.float64], echo: Sound) -> Sound:
    cleaner, heard = EchoCanceller(), sound.astype(np.int16)
    blocks = range(0, len(heard), 800)
    return np.concatenate([cleaner.clean(heard[k : k + 800], echo[k : k + 800]) for k in blocks])


def level_db(sound: NDArray[np.generic]) -> float:
    return float(10 * np.log10(np.mean(sound[SETTLED:].astype(np.float64) ** 2) + 1e-9))


def test_echo_gives_way_to_the_sound_of_the_cabin() -> None:
    """After two seconds of cabin alone: what is left is as loud as the cabin, within 3 dB."""
    played = np.concatenate([np.zeros(2 * SAMPLE_RATE_HZ, np.int16), make_talk(1)])
    hiss = make_hiss(len(played))
    echo = make_room(played)
    assert level_db(echo) > level_db(hiss) + 20
    assert abs(level_db(clean(echo + hiss, played)) - level_db(hiss)) < 3


def test_pilot_who_talks_over_the_coach_as_loud_as_he_is_left_whole() -> None:
    played, pilot = make_talk(1), make_talk(2, level=1000)
    pilot[: SAMPLE_RATE_HZ * 2] = 0
    cleaned = clean(make_room(played) + pilot + make_hiss(len(played)), played)
    assert level_db(cleaned - pilot) < level_db(pilot) - 10


def test_silent_coach_leaves_every_sample_untouched() -> None:
    pilot = make_talk(2)
    assert clean(pilot.astype(np.float64), np.zeros_like(pilot)).tolist() == pilot.tolist()


@pytest.mark.parametrize("millionths", [50, -50])
def test_two_clocks_that_drift_apart_are_followed(millionths: int) -> None:
    """A sample in 20,000: after ten seconds the echo comes half a millisecond off."""
    played = make_talk(1, seconds=12.0)
    places = np.arange(len(played)) * (1 + millionths * 1e-6)
    drifted = np.interp(places, np.arange(len(played)), make_room(played))
    cleaned = clean(drifted + make_hiss(len(played)), played)
    assert level_db(cleaned) < level_db(drifted) - 20


def test_block_of_any_length_comes_back_as_long() -> None:
    cleaner = EchoCanceller()
    for n in (10, 777, 800, 5000):
        assert len(cleaner.clean(np.ones(n, np.int16), np.ones(n, np.int16))) == n


def test_closed_ear_teaches_nothing() -> None:
    """Zeros while the pilot transmits: the path stays as it was learnt."""
    played = np.concatenate([np.zeros(SAMPLE_RATE_HZ, np.int16), make_talk(1, seconds=7.0)])
    heard = make_room(played) + make_hiss(len(played))
    closed = heard.copy()
    closed[4 * SAMPLE_RATE_HZ : 6 * SAMPLE_RATE_HZ] = 0
    after = slice(13 * SAMPLE_RATE_HZ // 2, None)
    open_left, closed_left = (
        np.mean(clean(sound, played)[after].astype(float) ** 2) for sound in (heard, closed)
    )
    assert 0 < closed_left < 2 * open_left
