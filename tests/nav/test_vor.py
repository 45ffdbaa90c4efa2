import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.angles import difference_deg
from coach.nav.vor import (
    Flag,
    Reading,
    bearing_error_deg,
    cone_radius_nm,
    off_course_deg,
    receive,
    slant_nm,
)


def at_radial(radial: float, distance_nm: float, course: float, full_scale_deg: float = 10.0) -> Reading:
    angle = math.radians(radial)
    east, north = distance_nm * math.sin(angle), distance_nm * math.cos(angle)
    return receive(east, north, course_mag_deg=course, full_scale_deg=full_scale_deg)


@pytest.mark.parametrize("radial", [1, 45, 90, 180, 225, 359, 360])
def test_the_radial_is_the_bearing_from_the_station(radial: float) -> None:
    assert at_radial(radial, 5, 360).radial_mag_deg == pytest.approx(radial)


@pytest.mark.parametrize(
    ("radial", "course", "flag"),
    [
        (360, 360, Flag.FROM),
        (180, 360, Flag.TO),
        (80, 360, Flag.FROM),
        (100, 360, Flag.TO),
        (90, 360, Flag.NEITHER),
        (270.5, 360, Flag.NEITHER),
        (350, 10, Flag.FROM),
    ],
)
def test_the_flag_says_where_the_selected_course_leads(radial: float, course: float, flag: Flag) -> None:
    # V18: Instrument Flying Handbook FAA-H-8083-15A p. 7-11; heading does not matter.
    assert at_radial(radial, 5, course).flag is flag


@pytest.mark.parametrize(
    ("radial", "course", "needle"),
    [
        (355, 360, 5),
        (5, 360, -5),
        (185, 360, 5),
        (175, 360, -5),
        (340, 360, 10),
        (20, 360, -10),
        (2, 358, -4),
    ],
)
def test_the_needle_points_to_the_course(radial: float, course: float, needle: float) -> None:
    assert at_radial(radial, 5, course).needle_deg == pytest.approx(needle)


@pytest.mark.parametrize("full_scale_deg", [10.0, 12.0])
def test_the_needle_reaches_its_stop_at_full_scale(full_scale_deg: float) -> None:
    # V16 and V17: handbooks give 12 or more, and 10; a setting.
    inside = at_radial(360 - full_scale_deg + 0.01, 5, 360, full_scale_deg)
    outside = at_radial(360 - full_scale_deg - 0.01, 5, 360, full_scale_deg)
    assert (inside.is_at_stop, outside.is_at_stop) == (False, True)
    assert outside.needle_deg == full_scale_deg
    assert outside.off_course_deg == pytest.approx(full_scale_deg + 0.01)


@given(st.integers(1, 360), st.integers(1, 360))
def test_needle_stays_within_its_stops_and_flag_agrees_with_to_go(radial: int, course: int) -> None:
    reading = at_radial(radial, 3, course)
    assert abs(reading.needle_deg) <= 10.0
    assert abs(reading.off_course_deg) <= 90.0 + 1e-9
    if reading.flag is not Flag.NEITHER:
        assert (reading.flag is Flag.TO) == (reading.to_go_nm > 0)


@given(st.floats(1, 360), st.floats(1, 360))
def test_reciprocal_courses_show_the_needle_on_opposite_sides(radial: float, course: float) -> None:
    # V19: the same line seen the other way is what reverse sensing is.
    near_abeam = abs(abs(difference_deg(course, radial)) - 90) < 1e-6
    same = off_course_deg(radial, course) + off_course_deg(radial, course + 180)
    assert near_abeam or abs(same) < 1e-6


@pytest.mark.parametrize(
    ("height_ft", "radius_nm", "crossing_s"),
    [(1000, 0.196, 15.7), (3000, 0.588, 47.1), (5000, 0.981, 78.5), (6000, 1.177, 94.1)],
)
def test_the_cone_grows_with_height(height_ft: float, radius_nm: float, crossing_s: float) -> None:
    # V14 (Doc 8168 Vol II, from memory) and V15 (computed at 90 kt).
    assert cone_radius_nm(height_ft) == pytest.approx(radius_nm, abs=0.0005)
    assert 2 * cone_radius_nm(height_ft) / 90 * 3600 == pytest.approx(crossing_s, abs=0.05)


def test_a_reading_knows_that_it_is_in_the_cone() -> None:
    inside = receive(0.0, 0.58, course_mag_deg=360, height_ft=3000)
    outside = receive(0.0, 0.60, course_mag_deg=360, height_ft=3000)
    assert (inside.in_cone, outside.in_cone) == (True, False)


def test_exactly_over_the_station_the_flag_shows_neither() -> None:
    reading = receive(0.0, 0.0, course_mag_deg=90)
    assert (reading.flag, reading.in_cone) == (Flag.NEITHER, True)


@pytest.mark.parametrize(
    ("distance_nm", "height_ft", "slant"),
    [(0, 6000, 0.987), (1, 6000, 1.405), (10, 6000, 10.049), (0, 3000, 0.494)],
)
def test_dme_shows_slant_range(distance_nm: float, height_ft: float, slant: float) -> None:
    # V46: geometry, computed.
    assert slant_nm(distance_nm, height_ft) == pytest.approx(slant, abs=0.0006)


@given(st.floats(1, 360), st.floats(1, 360))
def test_across_and_to_go_are_the_position_seen_from_the_course(radial: float, course: float) -> None:
    reading = at_radial(radial, 3, course)
    assert math.hypot(reading.across_nm, reading.to_go_nm) == pytest.approx(3)
    if abs(reading.off_course_deg) > 0.01:
        right_of_course = reading.across_nm > 0
        assert right_of_course == (reading.needle_deg < 0)


@given(st.integers(1, 360), st.floats(-6, 6))
def test_a_receivers_error_moves_the_needle_one_way_outbound_and_the_other_inbound(
    course: int, error_deg: float
) -> None:
    for radial in (course - error_deg, course + 180 - error_deg):
        assert bearing_error_deg(radial, course) == pytest.approx(error_deg, abs=1e-9)
        assert off_course_deg(radial + bearing_error_deg(radial, course), course) == pytest.approx(
            0, abs=1e-9
        )
    outbound, inbound = (
        off_course_deg(course - error_deg, course),
        off_course_deg(course + 180 - error_deg, course),
    )
    assert outbound == pytest.approx(-inbound, abs=1e-9)
