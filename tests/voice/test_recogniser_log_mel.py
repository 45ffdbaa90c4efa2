"""The log-mel picture has the published properties."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.recogniser import SAMPLE_RATE_HZ
from coach.voice.recognisers.log_mel import BANDS, _filters, _to_hz, _to_mel, picture


def make_tone(hz: float, seconds: float = 1.0) -> np.ndarray:
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (0.5 * np.sin(2 * np.pi * hz * t)).astype(np.float32)


def test_silence_is_the_floor_everywhere() -> None:
    # log10(1e-10) = -10; (-10 + 4) / 4: clamp and scaling of the reference code.
    np.testing.assert_allclose(picture(np.zeros(SAMPLE_RATE_HZ, np.float32), 100), -1.5, rtol=1e-6)


def test_picture_spans_eight_decades_at_most() -> None:
    shown = picture(make_tone(700), 200)
    assert shown.shape == (BANDS, 200)
    assert shown.max() - shown.min() == pytest.approx(8 / 4)


def test_ten_times_the_amplitude_is_half_a_unit_brighter() -> None:
    # 20 dB are two decades of power; the reference code divides by four.
    faint, loud = (picture(level * make_tone(700), 100).max() for level in (0.1, 1.0))
    assert loud - faint == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize("hz", [200.0, 440.0, 1000.0, 2500.0, 6000.0])
def test_tone_is_brightest_in_the_band_about_it(hz: float) -> None:
    centres_hz = _to_hz(np.linspace(0.0, float(_to_mel(np.array(8000.0))), BANDS + 2))[1:-1]
    band = int(picture(make_tone(hz), 100)[:, 50].argmax())
    assert abs(band - int(np.abs(centres_hz - hz).argmin())) <= 1


@pytest.mark.parametrize(("hz", "mel"), [(0.0, 0.0), (500.0, 7.5), (1000.0, 15.0), (6400.0, 42.0)], ids=str)
def test_mel_scale_is_slaneys(hz: float, mel: float) -> None:
    # Slaney 1998, Auditory Toolbox: linear 66.7 Hz steps to 1,000 Hz, then 27 logarithmic steps to 6,400 Hz.
    assert float(_to_mel(np.array(hz))) == pytest.approx(mel)
    assert float(_to_hz(np.array(mel))) == pytest.approx(hz)


def test_first_filter_is_the_reference_codes() -> None:
    # Value from memory of the reference code's mel_filters.npz (mel_80): 0.02486259 at the first line.
    assert _filters()[0, 1] == pytest.approx(0.02486259, rel=1e-4)
    assert _filters()[0, 0] == 0.0


def test_wide_filters_have_equal_areas() -> None:
    # "Slaney" normalisation: area 1 in Hz; lines are 40 Hz apart, so only the wide ones are sampled well.
    areas = _filters()[60:].sum(axis=1) * SAMPLE_RATE_HZ / 400
    np.testing.assert_allclose(areas, 1.0, rtol=0.02)


@pytest.mark.parametrize("samples", [0, 1, 159, 160, 8000, 15_999, 16_000])
def test_silence_after_a_sound_is_the_same_as_silence_in_it(samples: int) -> None:
    sound = make_tone(700)[:samples]
    padded = np.concatenate([sound, np.zeros(16_000 - samples, np.float32)])
    np.testing.assert_allclose(picture(sound, 100), picture(padded, 100), atol=1e-5)


def test_long_sound_is_cut_and_short_sound_is_followed_by_silence() -> None:
    assert picture(make_tone(700, 2.0), 100).shape == (BANDS, 100)
    shown = picture(make_tone(700, 0.5), 100)
    assert shown[:, 60:].max() == pytest.approx(shown.max() - 8 / 4)
