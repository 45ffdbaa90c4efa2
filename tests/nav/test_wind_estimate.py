import math
import random

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.wind import CALM, Wind
from coach.nav.wind_estimate import REMEMBERED_S, WindEstimate, difference_kt

WIND = Wind(from_deg=250.0, speed_kt=25.0)


def flown(
    wind: Wind,
    turns: list[tuple[float, float]],
    *,
    heading: bool = False,
    airspeed: bool = False,
    tas_kt: float = 90.0,
    named_tas_kt: float = 90.0,
    noise_kt: float = 0.0,
    track_step_deg: float = 0.0,
) -> WindEstimate:
    """Fly turns of (seconds, deg/s), a report a second."""
    aircraft = Aircraft(0.0, 0.0, 360.0, tas_kt, wind.east_kt, wind.north_kt)
    estimate, at_s, chance = WindEstimate(named_tas_kt), 0.0, random.Random(1)
    for lasts_s, rate in turns:
        for _ in range(round(lasts_s)):
            track = aircraft.track_mag_deg
            if track_step_deg:
                track = round(track / track_step_deg) * track_step_deg
            estimate.take(
                at_s,
                track_deg=track,
                ground_speed_kt=aircraft.ground_speed_kt + chance.gauss(0.0, noise_kt),
                heading_deg=aircraft.heading_mag_deg if heading else None,
                airspeed_kt=tas_kt if airspeed else None,
            )
            aircraft, at_s = aircraft.step(1.0, rate), at_s + 1.0
    return estimate


@pytest.mark.parametrize("from_deg", [10.0, 100.0, 190.0, 280.0])
def test_one_straight_with_heading_and_airspeed_shows_the_wind(from_deg: float) -> None:
    wind = Wind(from_deg=from_deg, speed_kt=20.0)
    found = flown(wind, [(40, 0.0)], heading=True, airspeed=True, named_tas_kt=70.0).find_wind()
    assert found is not None
    assert difference_kt(found, wind) < 1e-6


def test_heading_alone_takes_the_airspeed_named() -> None:
    found = flown(WIND, [(40, 0.0)], heading=True).find_wind()
    assert found is not None
    assert difference_kt(found, WIND) < 1e-6


@pytest.mark.parametrize("from_deg", [10.0, 100.0, 190.0, 280.0])
def test_a_turn_of_180_degrees_shows_the_wind_without_heading(from_deg: float) -> None:
    wind = Wind(from_deg=from_deg, speed_kt=25.0)
    found = flown(wind, [(60, 0.0), (60, 3.0), (30, 0.0)], tas_kt=95.0).find_wind()
    assert found is not None
    assert difference_kt(found, wind) < 1e-6


def test_noise_and_coarse_tracks_cost_little() -> None:
    # GDL 90 gives the track in steps of 1.40625 degrees and whole knots (G10).
    turns = [(60, 0.0), (60, 3.0), (60, 0.0), (60, -3.0), (60, 0.0)]
    found = flown(WIND, turns, noise_kt=1.0, track_step_deg=1.40625).find_wind()
    assert found is not None
    assert difference_kt(found, WIND) < 2.0


def test_a_straight_alone_shows_nothing_without_heading() -> None:
    assert flown(WIND, [(300, 0.0)], noise_kt=0.5).find_wind() is None


def test_a_turn_of_90_degrees_is_not_enough() -> None:
    assert flown(CALM, [(60, 0.0), (30, 3.0), (60, 0.0)]).find_wind() is None


def test_an_airspeed_far_from_the_one_named_is_not_believed() -> None:
    assert flown(WIND, [(120, 3.0)], tas_kt=150.0).find_wind() is None


def test_speeds_that_change_all_the_time_are_no_wind() -> None:
    assert flown(WIND, [(240, 3.0)], noise_kt=15.0).find_wind() is None


def test_nil_wind_is_a_wind() -> None:
    found = flown(CALM, [(120, 3.0)]).find_wind()
    assert found is not None
    assert found.speed_kt < 1e-6


def test_an_old_wind_is_forgotten() -> None:
    estimate = flown(WIND, [(120, 3.0)])
    aircraft = Aircraft(0.0, 0.0, 360.0, 90.0)
    for second in range(round(REMEMBERED_S) + 130):
        at_s = 120.0 + second
        estimate.take(at_s, track_deg=aircraft.track_mag_deg, ground_speed_kt=aircraft.ground_speed_kt)
        aircraft = aircraft.step(1.0, 3.0)
    found = estimate.find_wind()
    assert found is not None
    assert found.speed_kt < 0.5


def test_winds_differ_as_vectors() -> None:
    assert difference_kt(WIND, WIND) == 0.0
    opposite = Wind(from_deg=70.0, speed_kt=25.0)
    assert difference_kt(WIND, opposite) == pytest.approx(50.0)
    across = Wind(from_deg=340.0, speed_kt=25.0)
    assert difference_kt(WIND, across) == pytest.approx(25.0 * math.sqrt(2))
