"""The echo canceller takes the coach's voice out and leaves the pilot's in."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.cleanup import EchoCanceller, load_cleaner
from coach.voice.recogniser import SAMPLE_RATE_HZ


@pytest.fixture
def cleaner() -> EchoCanceller:
    pytest.importorskip("livekit.rtc")
    loaded = load_cleaner()
    assert loaded is not None
    return loaded


def make_talk(seed: int, seconds: float = 4.0) -> np.ndarray:
    """Noise that comes and goes like syllables, in the voice's band."""
    rng = np.random.default_rng(seed)
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    noise = np.convolve(rng.standard_normal(len(t)), np.hanning(8), mode="same")
    return (2000 * noise * np.maximum(np.sin(2 * np.pi * 3 * t + seed), 0)).astype(np.int16)


def clean(cleaner: EchoCanceller, sound: np.ndarray, echo: np.ndarray) -> np.ndarray:
    blocks = range(0, len(sound), 800)
    return np.concatenate([cleaner.clean(sound[k : k + 800], echo[k : k + 800]) for k in blocks])


def level_db(sound: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(sound.astype(np.float64) ** 2) + 1e-9))


def test_delayed_echo_is_taken_out(cleaner: EchoCanceller) -> None:
    played = make_talk(1)
    heard = np.roll(played, 480) // 2
    cleaned = clean(cleaner, heard, played)
    assert level_db(cleaned[2 * SAMPLE_RATE_HZ :]) < level_db(heard[2 * SAMPLE_RATE_HZ :]) - 15


def test_sound_without_an_echo_is_untouched(cleaner: EchoCanceller) -> None:
    pilot = make_talk(2)
    assert clean(cleaner, pilot, np.zeros_like(pilot)).tolist() == pilot.tolist()


def test_what_is_no_whole_step_comes_with_the_next_block(cleaner: EchoCanceller) -> None:
    sound, silence = np.arange(777, dtype=np.int16), np.zeros(777, np.int16)
    assert len(cleaner.clean(sound, silence)) == 640
    assert len(cleaner.clean(sound, silence)) == 800
    assert len(cleaner.clean(sound[:10], silence[:10])) == 0
