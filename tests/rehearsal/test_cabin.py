"""Cabin noise has the spectrum it says, closes on itself, and voices stand above it as asked."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from coach.rehearsal import cabin


def band_db(samples, low_hz, high_hz):
    power = np.abs(np.fft.rfft(samples)) ** 2
    hz = np.fft.rfftfreq(len(samples), 1 / cabin.RATE_HZ)
    return 10 * np.log10(power[(hz >= low_hz) & (hz < high_hz)].sum() / power.sum())


def strongest_hz(samples):
    power = np.abs(np.fft.rfft(samples))
    return np.fft.rfftfreq(len(samples), 1 / cabin.RATE_HZ)[power.argmax()]


def word(seconds=0.6, level=0.1):
    """A voice-like buzz strongest near 650 Hz: silence, loud, a soft end 40 dB below, silence."""
    at_s = np.arange(int(seconds * cabin.RATE_HZ)) / cabin.RATE_HZ
    buzz = sum(np.sin(2 * np.pi * 130 * k * at_s) / (1 + abs(k - 5)) for k in range(1, 20))
    envelope = np.where(at_s < seconds * 0.7, 1.0, 0.01)
    silence = np.zeros(cabin.RATE_HZ // 5)
    return np.concatenate([silence, level * buzz * envelope, silence]).astype(np.float32)


@pytest.fixture(scope="module")
def noise():
    return cabin.Cabin(seed=3).loop


def test_loop_is_a_minute_of_unit_rms(noise):
    assert len(noise) == 60 * 16_000
    assert np.sqrt(np.mean(noise.astype(float) ** 2)) == pytest.approx(1.0, abs=1e-3)


def test_strongest_order_is_the_blade_pass_of_two_blades(noise):
    # H16: propeller peak near 80 Hz with two blades; 2,300-2,500 rpm.
    assert 76 <= strongest_hz(noise) <= 84


def test_strongest_order_moves_with_three_blades():
    random = np.random.default_rng(4)
    samples = cabin.make_noise(random, cabin.Powerplant(blades=3, cylinders=6), seconds=10)
    # H16: 130 Hz at the most with three blades.
    assert 114 <= strongest_hz(samples) <= 130


def test_most_of_the_noise_lies_between_70_and_300_hz(noise):
    assert band_db(noise, 70, 300) > -3  # H16: "mostly 70-300 Hz"


def test_noise_falls_with_every_octave_above_500_hz(noise):
    octaves = [band_db(noise, 500 * 2**k, 1000 * 2**k) for k in range(4)]
    assert all(upper < lower - 3 for lower, upper in itertools.pairwise(octaves))


def test_loop_closes_without_a_click(noise):
    steps = np.abs(np.diff(noise))
    assert abs(noise[0] - noise[-1]) < np.quantile(steps, 0.999)


def test_gusts_swell_the_noise_by_decibels_not_tens(noise):
    seconds = noise.reshape(60, -1).astype(float)
    high = np.fft.irfft(np.fft.rfft(seconds)[:, 1000:] * 1.0)
    levels = 20 * np.log10(high.std(axis=1))
    assert 1.5 < levels.max() - levels.min() < 8


def test_same_seed_makes_the_same_noise(noise):
    assert np.array_equal(cabin.Cabin(seed=3).loop, noise)
    assert not np.array_equal(cabin.Cabin(seed=4).loop, noise)


def test_reading_goes_round_the_loop_without_end(noise):
    loop = cabin.Cabin(seed=3)
    whole = loop.at(0, len(noise))
    assert np.array_equal(loop.at(len(noise) - 10, 20), np.concatenate([whole[-10:], whole[:10]]))
    assert np.array_equal(loop.at(5 * len(noise) + 7, 100), whole[7:107])


@pytest.mark.parametrize("wanted_db", [20.0, 5.0, 0.0, -5.0])
def test_mixed_voice_stands_above_the_noise_as_asked(noise, wanted_db):
    voice, section = word(), noise[:32_000]
    mixed = cabin.mix_at_snr(voice, section, wanted_db)
    scaled = (mixed.samples - section)[: len(voice)]
    loud = scaled[np.abs(voice) > 0][: int(0.42 * cabin.RATE_HZ)].astype(float)
    by_hand_db = 10 * np.log10(np.mean(loud**2) / np.mean(section.astype(float) ** 2))
    assert mixed.snr_db == pytest.approx(wanted_db, abs=0.01)
    assert by_hand_db == pytest.approx(wanted_db, abs=0.3)


def test_speech_band_is_clearer_than_the_whole(noise):
    mixed = cabin.mix_at_snr(word(), noise[:32_000], 10.0)
    assert mixed.band_snr_db > mixed.snr_db + 2


def test_silence_and_soft_endings_do_not_count_as_voice():
    voice = word()
    longer = np.concatenate([voice, np.zeros(160_000, np.float32)])
    assert cabin.voice_rms(longer) == pytest.approx(cabin.voice_rms(voice), rel=1e-6)
    assert cabin.voice_rms(np.zeros(1000, np.float32)) == 0.0
    assert cabin.voice_rms(np.zeros(0, np.float32)) == 0.0


def test_silent_voice_leaves_the_noise_as_it_is(noise):
    mixed = cabin.mix_at_snr(np.zeros(16_000, np.float32), noise[:16_000], 10.0)
    assert np.array_equal(mixed.samples, noise[:16_000])
    assert mixed.snr_db == float("-inf")


def test_noise_shorter_than_the_voice_is_a_bug_that_shows(noise):
    with pytest.raises(ValueError, match="shorter than the voice"):
        cabin.mix_at_snr(word(), noise[:100], 10.0)
