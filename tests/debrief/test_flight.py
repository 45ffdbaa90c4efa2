"""Which direction and speed are believed: the feed's, or those of the positions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coach.debrief.flight import Flight, see_flight
from coach.fixes.track import Track
from coach.nav.wind import parse_wind
from tests.debrief.flown import STATION, Move, Receiver, path_of, reported, start_of

MOVES: list[Move] = [
    ("straight", 60),
    ("turn", 120, 3.0),
    ("straight", 60),
    ("turn", -200, 3.0),
    ("straight", 60),
]


def flown(receiver: Receiver, wind: str = "250/20") -> Track:
    return reported(path_of(start_of(1.0, 1.0, 20.0, parse_wind(wind)), MOVES), receiver)


def see(track: Track) -> Flight:
    return see_flight(track, STATION)


def test_a_fine_track_of_the_feed_is_taken_as_it_is():
    flight = see(flown(Receiver(has_speed=True, noise_m=3.0)))
    assert flight.smoothed_s == 0.0
    assert flight.track.track_true_deg is not None
    expected = flight.track.track_true_deg - STATION.declination_deg
    assert np.abs((flight.track_mag_deg - expected + 180.0) % 360.0 - 180.0).max() < 1e-6


@pytest.mark.parametrize("step_deg", [360.0 / 256.0, 1.0], ids=["GDL 90", "whole degrees"])
def test_a_coarse_track_gives_way_to_the_positions(step_deg: float):
    track = flown(Receiver(has_speed=True))
    assert track.track_true_deg is not None
    coarse = replace(track, track_true_deg=np.round(track.track_true_deg / step_deg) * step_deg)
    assert see(coarse).smoothed_s == 4.0


def test_a_track_that_wraps_wrongly_is_not_believed():
    track = flown(Receiver(has_speed=True))
    assert track.track_true_deg is not None
    wrapped = np.where(track.track_true_deg > 127.0, track.track_true_deg - 256.0, track.track_true_deg)
    flight = see(replace(track, track_true_deg=wrapped % 360.0))
    assert flight.smoothed_s == 4.0
    assert (flight.pointing_mag_deg[10:-10] == flight.track_mag_deg[10:-10]).all()


def test_ground_speed_is_the_feeds_where_it_has_one():
    track = flown(Receiver(has_speed=True, noise_m=20.0))
    assert see(track).ground_speed_kt == pytest.approx(track.ground_speed_kt, abs=1e-6)


def test_a_true_heading_is_turned_by_the_stations_declination():
    track = flown(Receiver(has_heading=True))
    assert track.heading_mag_deg is not None
    true = (track.heading_mag_deg + STATION.declination_deg) % 360.0
    flight = see(replace(track, heading_mag_deg=None, heading_true_deg=true))
    assert flight.heading_by == "heading"
    assert flight.heading_mag_deg == pytest.approx(track.heading_mag_deg)
    assert flight.wind is not None
    assert flight.wind.mean.speed_kt == pytest.approx(20.0, abs=0.5)


def test_a_heading_that_comes_only_now_and_then_is_none():
    track = flown(Receiver(has_heading=True))
    assert track.heading_mag_deg is not None
    seldom = track.heading_mag_deg.copy()
    seldom[::2] = np.nan
    assert see(replace(track, heading_mag_deg=seldom)).heading_by == "estimated heading"


def test_an_estimated_heading_is_within_a_degree_in_twenty_knots():
    measured = flown(Receiver(has_heading=True)).heading_mag_deg
    estimated = see(flown(Receiver())).heading_mag_deg
    assert measured is not None
    assert estimated is not None
    off = np.abs((estimated - measured + 180.0) % 360.0 - 180.0)
    assert np.median(off) < 0.3
    assert np.percentile(off, 95) < 3.0


def test_an_aircraft_that_stands_still_points_nowhere():
    track = flown(Receiver())
    still = replace(track, lat_deg=np.full(len(track), -40.0), lon_deg=np.full(len(track), -110.0))
    flight = see(still)
    assert np.isnan(flight.track_mag_deg).all()
    assert flight.heading_by is None
