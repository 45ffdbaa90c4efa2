import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.aircraft import Aircraft
from coach.nav.angles import difference_deg, reciprocal_deg
from coach.nav.course import course_in_wind
from coach.nav.intercept import (
    bracket_cuts_deg,
    bracket_headings_deg,
    intercept_angle_deg,
    intercept_heading_deg,
)
from coach.nav.wind import CALM


@pytest.mark.parametrize(("apart_deg", "angle_deg"), [(10, 20), (30, 60), (50, 90), (3, 20), (45, 90)])
def test_the_intercept_is_double_the_angle_from_20_to_90(apart_deg: int, angle_deg: float) -> None:
    # P11: Instrument Flying Handbook (quoted).
    assert intercept_angle_deg(360 - apart_deg, 360) == angle_deg
    assert intercept_angle_deg(360, 360 - apart_deg) == angle_deg


def test_from_course_300_to_the_station_350_inbound_is_met_at_90_degrees() -> None:
    # P12 (secondary copy): 50 degrees apart, 90 and not 100; the heading is geometry.
    assert intercept_angle_deg(120, 170) == 90
    assert intercept_heading_deg(120, 170, is_inbound=True) == pytest.approx(260)


@pytest.mark.parametrize(
    ("present", "wanted", "is_inbound", "heading"),
    [
        (30, 360, True, 240),
        (30, 360, False, 300),
        (330, 360, True, 120),
        (330, 360, False, 60),
        (90, 90, True, 270),
        (90, 90, False, 90),
    ],
)
def test_the_intercept_heading_leads_toward_the_radial(
    present: int, wanted: int, is_inbound: bool, heading: float
) -> None:
    # P11 with geometry worked by hand.
    assert intercept_heading_deg(present, wanted, is_inbound=is_inbound) == pytest.approx(heading)


@given(st.integers(1, 360), st.integers(-80, 80).filter(bool), st.booleans())
def test_every_intercept_heading_closes_on_its_course(wanted: int, apart: int, is_inbound: bool) -> None:
    present = (wanted + apart) % 360 or 360
    heading = intercept_heading_deg(present, wanted, is_inbound=is_inbound)
    course = course_in_wind(reciprocal_deg(wanted) if is_inbound else wanted, 90, CALM)
    there = _on_radial(present, heading)
    assert course.across_nm(there) * course.drift_right_nm_s(there) < 0
    assert abs(difference_deg(heading, course.course_mag_deg)) == pytest.approx(
        intercept_angle_deg(present, wanted)
    )


def _on_radial(radial: float, heading: float) -> Aircraft:
    out = Aircraft(0.0, 0.0, radial, 90.0).step(400.0)
    return Aircraft(out.east_nm, out.north_nm, heading, 90.0)


def test_bracketing_halves_its_cuts() -> None:
    # P10: FAA-H-8083-15A p. 7-14; AC 61-27C 8-3.
    assert list(bracket_cuts_deg()) == [20, 10, 5]


@pytest.mark.parametrize(("is_right", "headings"), [(True, (10, 360, 355)), (False, (330, 340, 345))])
def test_bracketing_cuts_toward_the_needle_and_takes_half_out(
    is_right: bool, headings: tuple[float, ...]
) -> None:
    # P10 on course 350.
    assert bracket_headings_deg(350, is_needle_right=is_right) == headings
