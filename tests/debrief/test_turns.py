"""Turns whose truth is known: begin, end and rate are found, in nil wind and in 20 kt, at every interval."""

from __future__ import annotations

import numpy as np
import pytest

from coach.debrief.flight import see_flight
from coach.debrief.ramp import fit_ramp
from coach.debrief.turns import find_turns
from coach.fixes.track_cleaning import clean_track
from coach.nav.path import Path
from coach.nav.wind import parse_wind
from tests.debrief.flown import STATION, Move, Receiver, began, path_of, reported, start_of

MOVES: list[Move] = [
    ("straight", 60),
    ("turn", -45, 3.0),
    ("straight", 45),
    ("turn", 180, 3.0),
    ("straight", 67),
    ("turn", 45, 2.2),
    ("straight", 60),
    ("turn", -135, 3.0),
    ("straight", 70),
]
"""The fifth is lazy: 2.2 degrees a second."""


def flown(wind: str) -> Path:
    return path_of(start_of(0.3, 0.2, 20.0, parse_wind(wind)), MOVES)


@pytest.mark.parametrize("wind", ["360/0", "250/20"])
@pytest.mark.parametrize(
    ("receiver", "sense"),
    [
        (Receiver(every_s=1.0), "estimated heading"),
        (Receiver(every_s=0.1), "estimated heading"),
        (Receiver(every_s=5.0), "estimated heading"),
        (Receiver(every_s=10.0), "estimated heading"),
        (Receiver(every_s=0.1, noise_m=3.0), "estimated heading"),
        (Receiver(every_s=1.0, noise_m=1.0), "estimated heading"),
        (Receiver(every_s=1.0, noise_m=3.0, has_speed=True), "estimated heading"),
        (Receiver(every_s=1.0, noise_m=3.0, has_heading=True), "heading"),
        (Receiver(every_s=0.1, noise_m=3.0, has_heading=True), "heading"),
    ],
    ids=str,
)
def test_begin_end_and_rate_are_found(wind: str, receiver: Receiver, sense: str):
    path = flown(wind)
    truth = [(at_s, piece) for at_s, piece in zip(began(path), path, strict=True) if piece.turn_deg_s]
    turns = find_turns(see_flight(reported(path, receiver), STATION))
    assert len(turns) == len(truth)
    for turn, (at_s, piece) in zip(turns, truth, strict=True):
        assert turn.by == sense
        assert turn.start_s == pytest.approx(at_s, abs=0.5)
        assert turn.end_s == pytest.approx(at_s + piece.duration_s, abs=0.5)
        assert turn.rate_deg_s == pytest.approx(abs(piece.turn_deg_s), abs=0.1)
        assert turn.turn_deg == pytest.approx(piece.turn_deg_s * piece.duration_s, abs=1.5)


def test_one_turn_tells_no_wind_and_its_track_does_not_turn_as_the_heading_does():
    path = path_of(
        start_of(2.0, 0.0, 340.0, parse_wind("250/20")),
        [("straight", 60), ("turn", 90, 3.0), ("straight", 60)],
    )
    (turn,) = find_turns(see_flight(reported(path, Receiver()), STATION))
    assert turn.by == "track"
    assert turn.start_s == pytest.approx(60.0, abs=1.5)
    assert abs(turn.rate_deg_s - 3.0) > 0.1


@pytest.mark.parametrize("heading", [350.0, 179.0, 10.0])
def test_turns_through_north_and_all_the_way_round(heading: float):
    path = path_of(start_of(1.0, 1.0, heading), [("straight", 40), ("turn", 400, 3.0), ("straight", 40)])
    (turn,) = find_turns(see_flight(reported(path, Receiver()), STATION))
    assert turn.turn_deg == pytest.approx(400.0, abs=1.5)


def test_an_arc_and_a_correction_are_no_turns():
    arc = path_of(start_of(-10.0, 0.0, 360.0), [("turn", 90, 0.15), ("turn", 10, 3.0), ("straight", 60)])
    assert find_turns(see_flight(reported(arc, Receiver()), STATION)) == ()


def test_a_turn_in_a_gap_is_not_made_up():
    path = path_of(start_of(1.0, 1.0, 90.0), [("straight", 100), ("turn", 90, 3.0), ("straight", 100)])
    track = reported(path, Receiver())
    kept = np.r_[0:95, 135:230]
    torn = clean_track(
        "csv",
        name="torn",
        posix_s=track.time_s[kept],
        lat_deg=track.lat_deg[kept],
        lon_deg=track.lon_deg[kept],
        given={},
    )
    assert find_turns(see_flight(torn, STATION)) == ()


def test_a_ramp_is_found_from_a_poor_first_guess():
    time_s = np.arange(0.0, 60.0)
    angle = 355.0 + 3.0 * (np.maximum(0.0, time_s - 20.4) - np.maximum(0.0, time_s - 35.4))
    ramp = fit_ramp(time_s, angle, start_s=16.0, end_s=41.0, smoothing=(0.0, 1))
    assert ramp is not None
    assert (ramp.start_s, ramp.end_s) == pytest.approx((20.4, 35.4), abs=0.01)
    assert ramp.before_deg == pytest.approx(355.0)
    assert ramp.rms_deg < 0.01
    assert fit_ramp(time_s[:3], angle[:3], start_s=0.0, end_s=2.0, smoothing=(0.0, 1)) is None
