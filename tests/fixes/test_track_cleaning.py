"""Cleaning: what cannot be is left out and told; gaps stay gaps."""

from __future__ import annotations

import numpy as np
import pytest

from coach.errors import TrackError
from coach.fixes.track import Track
from coach.fixes.track_cleaning import clean_track


def cleaned(times: list[float], lats: list[float] | None = None, lons: list[float] | None = None) -> Track:
    steps = np.arange(len(times))
    return clean_track(
        "csv",
        name="t",
        posix_s=np.array(times, dtype=float),
        lat_deg=np.array(lats, dtype=float) if lats else -40.0 + 0.0004 * steps,
        lon_deg=np.array(lons, dtype=float) if lons else np.full(len(times), -110.0),
        given={},
    )


def test_good_fixes_are_all_kept_without_a_word():
    track = cleaned([10.0, 11.0, 12.5, 13.0])
    assert track.time_s.tolist() == [0.0, 1.0, 2.5, 3.0]
    assert track.notes == ()
    assert track.render_utc(0.0) == "1970-01-01T00:00:10.0Z"


def test_doubled_fixes_cost_themselves():
    track = cleaned([10.0, 11.0, 11.0, 12.0])
    assert track.time_s.tolist() == [0.0, 1.0, 2.0]
    assert track.notes == ("1 fix with the time of the fix before left out, the first at fix 3.",)


@pytest.mark.parametrize("odd", [5.0, 4_000_000.0], ids=["back", "far ahead"])
def test_one_wrong_clock_reading_costs_one_fix(odd: float):
    track = cleaned([10.0, 11.0, 12.0, odd, 13.0, 14.0])
    assert track.time_s.tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]
    (note,) = track.notes
    assert note.startswith("1 fix whose time goes back")
    assert note.endswith("the first at fix 4.")


def test_the_larger_part_of_a_clock_that_was_set_back_is_kept():
    track = cleaned([10.0, 11.0, 12.0, 3.0, 4.0, 5.0, 6.0, 7.0])
    assert track.time_s.tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]


def test_a_gap_stays_a_gap_and_is_told():
    track = cleaned([0.0, 1.0, 101.0, 102.0])
    assert len(track) == 4
    assert track.notes == ("1 gap of more than 30 s, the longest 100 s.",)


@pytest.mark.parametrize("lat", [95.0, float("nan"), float("inf"), -90.001])
def test_impossible_places_are_left_out(lat: float):
    track = cleaned([0.0, 1.0, 2.0], lats=[10.0, lat, 10.0])
    assert len(track) == 2
    assert track.notes[0].startswith("1 fix without a time or a place that can be")


def test_a_single_far_fix_is_left_out_but_a_move_is_kept():
    jump = cleaned([0.0, 1.0, 2.0, 3.0, 4.0], lats=[10.0, 10.0, 12.0, 10.0, 10.0])
    assert jump.lat_deg.tolist() == [10.0] * 4
    moved = cleaned([0.0, 1.0, 2.0, 3.0, 4.0], lats=[10.0, 10.0, 12.0, 12.0, 12.0])
    assert len(moved) == 5


def test_the_antimeridian_is_no_jump():
    track = cleaned([0.0, 1.0, 2.0], lats=[10.0] * 3, lons=[179.9998, -179.9999, -179.9996])
    assert len(track) == 3
    assert track.notes == ()


def test_near_the_pole_a_degree_of_longitude_is_no_jump():
    track = cleaned([0.0, 1.0, 2.0], lats=[89.999] * 3, lons=[0.0, 40.0, 80.0])
    assert len(track) == 3


def test_fewer_than_two_fixes_are_refused_with_the_reason():
    with pytest.raises(TrackError) as error:
        cleaned([0.0, float("nan"), float("nan")])
    assert str(error.value) == (
        "t: expected at least two fixes with time and place, got 1 of 3: "
        "2 fixes without a time or a place that can be left out, the first at fix 2."
    )


def test_values_that_cannot_be_become_holes():
    track = clean_track(
        "csv",
        name="t",
        posix_s=np.array([0.0, 1.0]),
        lat_deg=np.array([1.0, 1.0]),
        lon_deg=np.array([1.0, 1.0]),
        given={
            "ground_speed_kt": np.array([90.0, 1e9]),
            "airspeed_kt": np.array([np.nan, -5.0]),
        },
    )
    assert track.ground_speed_kt is not None
    assert track.ground_speed_kt[0] == 90.0
    assert np.isnan(track.ground_speed_kt[1])
    assert track.airspeed_kt is None
