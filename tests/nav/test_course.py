import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coach.errors import DrillError
from coach.nav.aircraft import Aircraft, over_station
from coach.nav.angles import difference_deg
from coach.nav.course import course_in_wind, find_lead_s, join
from coach.nav.path import duration_s
from coach.nav.turn import lead_s, radius_nm
from coach.nav.wind import CALM, Wind, parse_wind

NORTH = course_in_wind(360, 90, CALM)


def test_across_is_right_of_the_course_and_along_is_beyond_the_station() -> None:
    aircraft = Aircraft(1.0, -2.0, 90.0, 90.0)
    assert (NORTH.across_nm(aircraft), NORTH.along_nm(aircraft)) == (pytest.approx(1), pytest.approx(-2))
    east = course_in_wind(90, 90, CALM)
    assert (east.across_nm(aircraft), east.along_nm(aircraft)) == (pytest.approx(2), pytest.approx(1))


def test_the_heading_that_holds_a_course_keeps_the_aircraft_on_it() -> None:
    wind = parse_wind("250/20")
    course = course_in_wind(15, 90, wind)
    flown = over_station(course.heading_mag_deg, 90, wind).step(3600.0)
    assert course.across_nm(flown) == pytest.approx(0, abs=1e-9)
    assert course.along_nm(flown) == pytest.approx(course.ground_speed_kt)


def test_the_lead_onto_a_course_at_45_degrees_is_7_9_seconds_in_still_air() -> None:
    # R15 (computed): lead = R * tan 22.5, 7.9 s of flight to the corner.
    aircraft = Aircraft(-2.0, 0.0, 45.0, 90.0)
    line_s = 2.0 * math.sqrt(2.0) / 90 * 3600
    assert find_lead_s(aircraft, NORTH, -45) == pytest.approx(line_s - 7.91, abs=0.005)
    assert lead_s(45) == pytest.approx(7.91, abs=0.005)


def test_a_heading_along_the_course_never_closes() -> None:
    assert find_lead_s(Aircraft(1.0, 0.0, 360.0, 90.0), NORTH, 0.0) is None


def test_after_the_lead_the_turn_rolls_out_on_the_course_in_any_wind() -> None:
    wind = parse_wind("310/25")
    course = course_in_wind(60, 90, wind)
    aircraft = Aircraft(2.0, -2.0, 15.0, 90.0, wind.east_kt, wind.north_kt)
    turn_deg = difference_deg(course.heading_mag_deg, 15.0)
    lead = find_lead_s(aircraft, course, turn_deg)
    assert lead is not None
    assert course.across_nm(aircraft.step(lead).turn(turn_deg)) == pytest.approx(0, abs=1e-9)


def test_on_the_course_there_is_nothing_to_turn() -> None:
    assert join(over_station(360, 90), NORTH, turn_deg=0.0, cut_deg=20) == ()


def test_a_turn_that_rolls_out_on_the_course_needs_no_cut() -> None:
    aircraft = Aircraft(-radius_nm(90), 0.0, 90.0, 90.0)
    (only,) = join(aircraft, NORTH, turn_deg=-90, cut_deg=20)
    assert only.duration_s == pytest.approx(30)


def test_beside_the_course_it_cuts_toward_it_and_leads_the_turn_back() -> None:
    path = join(Aircraft(0.5, 0.0, 360.0, 90.0), NORTH, turn_deg=0.0, cut_deg=20)
    assert [piece.turn_deg_s for piece in path] == [-3.0, 0.0, 3.0]
    assert path[1].start.heading_mag_deg == pytest.approx(340)
    assert NORTH.across_nm(path[-1].end) == pytest.approx(0, abs=1e-9)


def test_close_beside_the_course_the_cut_is_smaller_than_asked_for() -> None:
    path = join(Aircraft(0.01, 0.0, 360.0, 90.0), NORTH, turn_deg=0.0, cut_deg=20)
    assert [piece.turn_deg_s for piece in path] == [-3.0, 3.0]
    assert path[0].duration_s < 20 / 3
    assert NORTH.across_nm(path[-1].end) == pytest.approx(0, abs=1e-9)


def test_a_passage_turn_goes_on_to_an_intercept_and_comes_back() -> None:
    # procedure.md: turn to a heading that intercepts the outbound radial, then track it.
    path = join(over_station(45, 90), NORTH, turn_deg=-45, cut_deg=20)
    assert path[0].duration_s == pytest.approx(65 / 3)
    assert duration_s(path) < 45
    assert NORTH.across_nm(path[-1].end) == pytest.approx(0, abs=1e-9)


@given(
    st.floats(-2, 2),
    st.floats(-90, 90),
    st.floats(1, 360),
    st.floats(0, 40),
    st.sampled_from([20.0, 45.0]),
)
def test_every_joining_ends_on_the_course_on_the_heading_that_holds_it(
    across_nm: float, turn_deg: float, from_deg: float, speed_kt: float, cut_deg: float
) -> None:
    wind = Wind(from_deg=from_deg, speed_kt=speed_kt)
    course = course_in_wind(360, 90, wind)
    heading = course.heading_mag_deg - turn_deg
    aircraft = Aircraft(across_nm, 0.0, heading, 90.0, wind.east_kt, wind.north_kt)
    path = join(aircraft, course, turn_deg=turn_deg, cut_deg=cut_deg)
    assume(path)
    assert abs(course.across_nm(path[-1].end)) < 1e-5
    assert abs(difference_deg(path[-1].end.heading_mag_deg, course.heading_mag_deg)) < 1e-6


def test_a_wind_in_which_a_cut_does_not_close_is_told() -> None:
    wind = Wind(from_deg=90, speed_kt=89)
    course = course_in_wind(360, 90, wind)
    aircraft = Aircraft(-1.0, 0.0, course.heading_mag_deg, 90.0, wind.east_kt, wind.north_kt)
    with pytest.raises(DrillError) as caught:
        join(aircraft, course, turn_deg=0.0, cut_deg=45)
    expected = "a wind in which a 45-degree cut closes on course 360"
    assert str(caught.value) == f"wind: expected {expected}, got one in which it does not"
