import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.aircraft import Aircraft, over_station
from coach.nav.path import (
    Path,
    aircraft_at,
    clip,
    duration_s,
    farthest,
    find_fall,
    find_fall_flying_on,
    sampled,
    straight,
    turning,
)
from coach.nav.turn import radius_nm


def out_and_round() -> Path:
    """North for a minute, a half turn right, south for 20 s."""
    out = straight(over_station(360, 90), 60.0)
    arc = turning(out.end, 180)
    return (out, arc, straight(arc.end, 20.0))


def to_go_south_nm(aircraft: Aircraft) -> float:
    return aircraft.north_nm - 1.0


def test_a_path_lasts_as_long_as_its_pieces() -> None:
    assert duration_s(out_and_round()) == pytest.approx(60 + 60 + 20)


@pytest.mark.parametrize("end_s", [0.0, 30.0, 60.0, 90.0, 140.0, 200.0])
def test_a_clipped_path_ends_where_the_aircraft_is_at_that_time(end_s: float) -> None:
    clipped = clip(out_and_round(), end_s)
    assert duration_s(clipped) == pytest.approx(end_s)
    end, there = clipped[-1].end, aircraft_at(out_and_round(), end_s)
    assert math.hypot(end.east_nm - there.east_nm, end.north_nm - there.north_nm) < 1e-9


def test_a_path_that_ends_goes_on_straight() -> None:
    end = clip(out_and_round(), 150.0)[-1].end
    assert end.north_nm == pytest.approx(1.5 - 30 * 90 / 3600)
    assert end.heading_mag_deg == pytest.approx(180)


def test_nothing_is_sampled_of_no_path() -> None:
    assert list(sampled(())) == []


def test_sampling_begins_at_the_start_and_touches_every_joint() -> None:
    times = [since_s for since_s, _ in sampled(out_and_round(), 7.0)]
    assert times[0] == 0.0
    assert {60.0, 120.0, 140.0} <= {round(since_s, 9) for since_s in times}
    assert max(b - a for a, b in pairwise(times)) <= 7.0


def test_the_farthest_point_counts_the_bulge_of_a_turn() -> None:
    there = farthest(out_and_round())
    assert there.north_nm > 1.5
    bulge_nm = math.hypot(1.5, radius_nm(90)) + radius_nm(90)
    assert there.distance_nm == pytest.approx(bulge_nm, abs=0.001)


def test_a_measure_that_falls_is_found_to_the_microsecond() -> None:
    found = find_fall(clip(out_and_round(), 150.0), to_go_south_nm)
    assert found == pytest.approx(60 + 60 + 20, abs=1e-5)


def test_a_measure_that_never_was_above_zero_does_not_fall() -> None:
    assert find_fall((straight(over_station(180, 90), 60.0),), to_go_south_nm) is None


def test_a_measure_that_stays_above_zero_does_not_fall() -> None:
    assert find_fall(out_and_round()[:2], to_go_south_nm) is None


def test_flying_on_the_fall_is_found_beyond_the_end() -> None:
    assert find_fall_flying_on(out_and_round()[:2], to_go_south_nm) == pytest.approx(140.0)


def test_flying_away_for_ever_no_fall_is_found() -> None:
    assert find_fall_flying_on((straight(over_station(360, 90), 60.0),), to_go_south_nm) is None


def test_flying_on_beside_for_ever_no_fall_is_found() -> None:
    beside = (straight(Aircraft(0.0, 2.0, 90.0, 90.0), 10.0),)
    assert find_fall_flying_on(beside, to_go_south_nm) is None


@given(st.floats(-350, 350), st.floats(0.5, 3.0))
def test_an_arc_turns_as_far_as_it_says_at_the_aircrafts_rate(turn_deg: float, rate_deg_s: float) -> None:
    piece = turning(over_station(360, 90, rate_deg_s=rate_deg_s), turn_deg)
    assert piece.duration_s == pytest.approx(abs(turn_deg) / rate_deg_s)
    assert math.isclose(math.cos(math.radians(piece.end.heading_mag_deg - turn_deg)), 1.0, abs_tol=1e-9)
