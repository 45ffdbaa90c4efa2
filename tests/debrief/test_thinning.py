"""Fewer points for a drawn line: nothing that can be seen is lost."""

from __future__ import annotations

import numpy as np
import pytest

from coach.debrief.thinning import thin_by_shape, thin_by_time

NOON_S = np.arange(0.0, 3600.0, 0.1)


def test_a_single_peak_among_36000_fixes_is_kept():
    values = np.zeros(36_000)
    values[[12_345, 30_001]] = 9.0, -7.0
    kept = thin_by_time(NOON_S, values, 800)
    assert {12_345, 30_001} <= set(kept.tolist())
    assert len(kept) <= 802


def test_a_hole_stays_a_hole():
    values = np.zeros(36_000)
    values[20_000:20_050] = np.nan
    kept = thin_by_time(NOON_S, values, 800)
    assert {19_999, 20_000, 20_049, 20_050} <= set(kept.tolist())


def test_a_line_of_nothing_but_holes_is_no_error():
    assert len(thin_by_time(NOON_S, np.full(36_000, np.nan), 800)) >= 2


def test_a_short_line_is_kept_whole():
    assert thin_by_time(NOON_S[:800], np.zeros(800), 800).tolist() == list(range(800))


@pytest.mark.parametrize("apart", [0.001, 0.01, 0.1])
def test_no_point_of_a_circle_is_farther_from_the_thinned_path_than_asked(apart: float):
    angle = np.linspace(0.0, 2.0 * np.pi, 36_000)
    x, y = 3.0 * np.sin(angle), 3.0 * np.cos(angle)
    kept = thin_by_shape(x, y, apart)
    middles = np.hypot((x[kept][1:] + x[kept][:-1]) / 2, (y[kept][1:] + y[kept][:-1]) / 2)
    assert 3.0 - middles.min() <= apart + 1e-9
    assert len(kept) < 400


def test_a_straight_path_keeps_its_ends_alone():
    x = np.linspace(0.0, 5.0, 1000)
    assert thin_by_shape(x, 2.0 * x, 0.001).tolist() == [0, 999]


def test_a_path_that_comes_back_to_its_start_keeps_its_far_point():
    x = np.concatenate((np.linspace(0.0, 4.0, 50), np.linspace(4.0, 0.0, 50)))
    assert 4.0 in x[thin_by_shape(x, np.zeros(100), 0.01)]
