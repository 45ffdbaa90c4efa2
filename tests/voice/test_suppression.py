"""Noise taken out of one utterance: less of it, nothing shifted, the same every time."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.recogniser import Samples
from coach.voice.suppression import CABIN_SAMPLES, Suppressor, load_suppressor

RATE_HZ = 16_000


@pytest.fixture(scope="module")
def suppressor() -> Suppressor:
    pytest.importorskip("livekit.rtc", reason="noise suppression needs PyPI livekit")
    loaded = load_suppressor()
    assert loaded is not None
    return loaded


def make_noise(samples: int) -> Samples:
    return (0.02 * np.random.default_rng(1).standard_normal(samples)).astype(np.float32)


def make_voice(samples: int) -> Samples:
    """Noise that comes and goes four times a second, as syllables do."""
    t = np.arange(samples) / RATE_HZ
    hiss = np.random.default_rng(2).standard_normal(samples)
    return (0.2 * hiss * np.clip(np.sin(2 * np.pi * 4 * t), 0, 1)).astype(np.float32)


def power(sound: Samples) -> float:
    return float(np.mean(sound.astype(np.float64) ** 2))


def test_steady_noise_is_taken_out_by_half_at_least(suppressor: Suppressor) -> None:
    noise = make_noise(RATE_HZ)
    assert power(suppressor.suppress(noise)) < 0.25 * power(noise)


def test_voice_is_kept_and_hardly_late(suppressor: Suppressor) -> None:
    voice = np.concatenate([np.zeros(2 * CABIN_SAMPLES, np.float32), make_voice(RATE_HZ)])
    cleaned = suppressor.suppress(voice + 0.1 * make_noise(len(voice)))
    fits = [float(np.dot(cleaned[lag:], voice[: len(voice) - lag])) for lag in range(320)]
    assert int(np.argmax(fits)) <= 160
    assert max(fits) > 0.7 * float(np.dot(voice, voice))


@pytest.mark.parametrize("samples", [1, 159, 160, 161, 2048, 20_001])
def test_utterance_comes_out_as_long_as_it_came(suppressor: Suppressor, samples: int) -> None:
    assert len(suppressor.suppress(make_noise(samples))) == samples


def test_same_sound_comes_out_the_same_whatever_came_before(suppressor: Suppressor) -> None:
    noise, other = make_noise(8000), make_voice(8000)
    first = suppressor.suppress(noise)
    suppressor.suppress(other)
    assert np.array_equal(suppressor.suppress(noise), first)
