"""The wind of a flight by its turns; a flight that tells none gives none."""

from __future__ import annotations

import numpy as np
import pytest

from coach.debrief.wind_fit import find_wind, find_wind_by_air


def turning(wind_east: float, wind_north: float, through_deg: float, noise_kt: float = 0.0):
    time_s = np.arange(0.0, 240.0)
    heading = np.radians(np.linspace(0.0, through_deg, len(time_s)))
    noise = np.random.default_rng(2).normal(0.0, noise_kt + 1e-12, (2, len(time_s)))
    return (
        time_s,
        90.0 * np.sin(heading) + wind_east + noise[0],
        90.0 * np.cos(heading) + wind_north + noise[1],
    )


@pytest.mark.parametrize("noise_kt", [0.0, 2.0])
def test_the_wind_is_found_from_turns(noise_kt: float):
    wind = find_wind(*turning(-17.3, 10.0, 300.0, noise_kt))
    assert wind is not None
    assert wind.mean.speed_kt == pytest.approx(20.0, abs=0.7)
    assert wind.mean.from_deg == pytest.approx(120.0, abs=2.5)


def test_too_little_turned_tells_no_wind():
    assert find_wind(*turning(-17.3, 10.0, 100.0)) is None


def test_a_poor_fit_is_not_believed():
    assert find_wind(*turning(5.0, 5.0, 300.0, 12.0)) is None


def test_an_estimate_is_taken_for_a_quarter_of_an_hour_and_no_longer():
    wind = find_wind(*turning(10.0, 0.0, 300.0))
    assert wind is not None
    east, _ = wind.along(np.array([100.0, 1000.0, 1100.0]))
    assert np.isfinite(east).tolist() == [True, True, False]


def test_heading_and_airspeed_tell_the_wind_without_a_turn():
    time_s = np.arange(0.0, 60.0)
    wind = find_wind_by_air(time_s, np.full(60, 3.0), np.full(60, 4.0))
    assert wind is not None
    assert wind.mean.speed_kt == pytest.approx(5.0)
    assert find_wind_by_air(time_s, np.full(60, np.nan), np.full(60, 4.0)) is None
