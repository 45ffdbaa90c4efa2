"""Slopes of values that jitter; gaps are never crossed."""

from __future__ import annotations

import numpy as np
import pytest

from coach.debrief.filtering import find_stretches, interval_s, slope


def test_a_gap_parts_two_stretches():
    assert find_stretches(np.array([0.0, 1.0, 2.0, 40.0, 41.0])) == (slice(0, 3), slice(3, 5))
    assert find_stretches(np.array([0.0, 30.0])) == (slice(0, 2),)
    assert find_stretches(np.array([0.0, 30.1])) == (slice(0, 1), slice(1, 2))


@pytest.mark.parametrize("every_s", [0.1, 1.0, 5.0, 10.0])
def test_a_straight_line_keeps_its_slope_up_to_both_ends(every_s: float):
    time_s = np.arange(0.0, 60.0, every_s)
    assert slope(time_s, 3.0 + 0.25 * time_s) == pytest.approx(np.full(len(time_s), 0.25))


def test_uneven_times_keep_the_slope():
    time_s = np.cumsum([0.0, 1.0, 0.7, 1.4, 1.0, 2.0, 0.5, 1.0, 1.0, 1.0])
    assert slope(time_s, 2.0 * time_s) == pytest.approx(np.full(10, 2.0))


def test_noise_is_smoothed_as_the_line_of_least_squares_does():
    noise = np.random.default_rng(3).normal(0.0, 1.0, 4000)
    # 9 fixes: the slope's deviation is 1 / sqrt(60).
    assert slope(np.arange(4000.0), noise).std() == pytest.approx(60**-0.5, rel=0.1)


def test_one_fix_has_no_slope_and_two_have_their_chord():
    assert np.isnan(slope(np.array([0.0]), np.array([1.0]))).all()
    assert slope(np.array([0.0, 2.0]), np.array([1.0, 5.0])).tolist() == [2.0, 2.0]


def test_a_few_odd_intervals_do_not_make_the_grid_endless():
    time_s = np.concatenate((np.arange(0.0, 5.0, 0.1), 5.0 + 29.0 * np.arange(1, 40)))
    assert (time_s[-1] - time_s[0]) / interval_s(time_s) <= 4.0 * len(time_s) + 1
