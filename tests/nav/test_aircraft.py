import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.aircraft import Aircraft, over_station
from coach.nav.turn import radius_nm
from coach.nav.wind import parse_wind

TURNS = st.floats(-3.0, 3.0)


def test_straight_flight_is_along_the_heading() -> None:
    flown = over_station(90, 90).step(60.0)
    assert (flown.east_nm, flown.north_nm) == (pytest.approx(1.5), pytest.approx(0.0))


def test_a_whole_circle_ends_where_it_began() -> None:
    flown = over_station(30, 90).turn(360)
    assert flown.distance_nm == pytest.approx(0.0, abs=1e-12)
    assert flown.heading_mag_deg == pytest.approx(30)


@pytest.mark.parametrize("tas_kt", [60, 90, 120, 180])
def test_a_half_circle_is_two_radii_wide(tas_kt: float) -> None:
    # U8 and U9: radius at standard rate, computed; 1.27 NM diameter at 120 kt.
    flown = over_station(360, tas_kt).turn(180)
    assert flown.east_nm == pytest.approx(2 * radius_nm(tas_kt))
    assert flown.north_nm == pytest.approx(0.0, abs=1e-9)


def test_a_45_degree_turn_over_the_station_rolls_out_a_third_of_a_radius_beside_the_radial() -> None:
    # procedure.md: 0.29 turn radii, 0.14 NM at 90 kt, 5.5 degrees after one minute (simulated).
    rolled_out = over_station(45, 90).turn(-45)
    assert rolled_out.east_nm / radius_nm(90) == pytest.approx(1 - math.sqrt(0.5))
    assert rolled_out.east_nm == pytest.approx(0.14, abs=0.005)
    after = rolled_out.step(60.0 - 15.0)
    assert math.degrees(math.atan2(after.east_nm, after.north_nm)) == pytest.approx(5.5, abs=0.05)


@given(TURNS, st.floats(0.1, 200.0), st.integers(1, 40))
def test_many_short_steps_end_where_one_long_step_ends(rate: float, seconds: float, steps: int) -> None:
    start = over_station(200, 97, parse_wind("250/20"))
    stepped = start
    for _ in range(steps):
        stepped = stepped.step(seconds / steps, rate)
    whole = start.step(seconds, rate)
    assert math.hypot(stepped.east_nm - whole.east_nm, stepped.north_nm - whole.north_nm) < 1e-6


def test_wind_moves_the_aircraft_and_not_its_heading() -> None:
    flown = over_station(360, 90, parse_wind("270/20")).step(3600.0)
    assert (flown.east_nm, flown.north_nm) == (pytest.approx(20), pytest.approx(90))
    assert flown.heading_mag_deg == 360
    assert flown.track_mag_deg == pytest.approx(math.degrees(math.atan2(20, 90)))
    assert flown.ground_speed_kt == pytest.approx(math.hypot(20, 90))


def test_a_circle_drifts_with_the_wind() -> None:
    flown = over_station(360, 90, parse_wind("360/30")).turn(360)
    assert (flown.east_nm, flown.north_nm) == (pytest.approx(0.0, abs=1e-9), pytest.approx(-1.0))


def test_steering_turns_the_shorter_way_and_stops_on_the_heading() -> None:
    flown = over_station(10, 90).steer(60.0, 325)
    assert flown.heading_mag_deg == pytest.approx(325)
    turned = over_station(10, 90).turn(-45).step(45.0)
    assert (flown.east_nm, flown.north_nm) == (pytest.approx(turned.east_nm), pytest.approx(turned.north_nm))


def test_steering_for_less_than_the_turn_takes_stays_in_the_turn() -> None:
    assert over_station(10, 90).steer(5.0, 325).heading_mag_deg == pytest.approx(355)


def test_a_turn_of_more_than_half_a_circle_keeps_its_way_round() -> None:
    assert over_station(360, 90).follow(90.0, 225).heading_mag_deg == pytest.approx(225)
    assert over_station(360, 90).follow(10.0, 225).heading_mag_deg == pytest.approx(30)


def test_no_turn_is_the_same_aircraft() -> None:
    aircraft = Aircraft(1.0, 2.0, 30.0, 90.0)
    assert aircraft.turn(0.0) is aircraft
    assert aircraft.follow(10.0, 0.0) == aircraft.step(10.0)
