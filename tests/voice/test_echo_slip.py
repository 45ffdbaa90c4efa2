"""What was played is read where it fits what is heard."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.echo_slip import COMPARED, HALF_WIDTH, MARGIN, Slip

N = 4 * COMPARED


def make_sound(n_samples: int) -> np.ndarray:
    noise = np.random.default_rng(4).standard_normal(n_samples)
    return np.convolve(noise, np.hanning(8), mode="same")


def test_nothing_slipped_is_read_as_it_was_given() -> None:
    sound = make_sound(N + 4 * MARGIN)
    assert np.allclose(Slip().read(sound, N), sound[-N - MARGIN : -MARGIN], atol=1e-6)


@pytest.mark.parametrize("part", [0.25, 0.5, 0.9])
def test_part_of_a_sample_is_read_between_two(part: float) -> None:
    t = np.arange(N + 4 * MARGIN + HALF_WIDTH)
    slip = Slip()
    slip.samples = part
    read = slip.read(np.sin(0.5 * t), N)
    end = len(t) - MARGIN
    assert np.abs(read - np.sin(0.5 * (t[end - N : end] - part))).max() < 2e-3


@pytest.mark.parametrize("late", [0.7, 12.0, -12.0, 200.0])
def test_echo_that_comes_off_its_time_is_found(late: float) -> None:
    """Small slips are taken up by and by, larger ones at once when they are clear."""
    slip, whole = Slip(), make_sound(400 * COMPARED)
    for n in range(2, 60):
        first = n * COMPARED
        places = np.arange(first, first + COMPARED)
        heard = np.interp(places - late, np.arange(len(whole)), whole)
        read = np.interp(places - slip.samples, np.arange(len(whole)), whole)
        slip.advance(COMPARED)
        slip.follow(read, heard)
    assert slip.samples == pytest.approx(late, abs=0.3)


def test_silence_moves_nothing() -> None:
    slip = Slip()
    for _ in range(10):
        slip.follow(np.zeros(COMPARED), np.zeros(COMPARED))
    assert (slip.samples, slip.rate) == (0.0, 0.0)
