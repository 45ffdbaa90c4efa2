"""Headings steered by the needle alone bring the aircraft onto a course and hold it in any wind."""

from __future__ import annotations

import math

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.angles import difference_deg
from coach.nav.vor import receive
from coach.nav.wind import Wind, solve_triangle
from coach.rehearsal.needle import Needle
from coach.rehearsal.tracker import FIRST_CUT_DEG, Tracker

STEP_S = 0.1


def fly_outbound(wind, *, right_nm, seconds, tracker=None, course=40.0):
    """Track a radial outbound from 2 NM out, `right_nm` right of it; return aircraft, needle, tracker."""
    along, across = math.radians(course), math.radians(course + 90)
    aircraft = Aircraft(
        2 * math.sin(along) + right_nm * math.sin(across),
        2 * math.cos(along) + right_nm * math.cos(across),
        course,
        90.0,
        wind.east_kt,
        wind.north_kt,
    )
    tracker, needle = tracker or Tracker(90.0), Needle(10.0)
    tracker.begin(course)
    for step in range(round(seconds / STEP_S)):
        reading = receive(aircraft.east_nm, aircraft.north_nm, course_mag_deg=course)
        needle.watch(step * STEP_S, reading.needle_deg)
        aircraft = aircraft.steer(STEP_S, tracker.steer(needle, aircraft.heading_mag_deg, STEP_S))
    return aircraft, needle, tracker


@pytest.mark.parametrize("from_deg", range(45, 361, 45))
def test_course_is_held_in_20_kt_from_anywhere(from_deg):
    wind = Wind(from_deg=from_deg, speed_kt=20.0)
    aircraft, needle, tracker = fly_outbound(wind, right_nm=0.15, seconds=180)
    holding = solve_triangle(40.0, 90.0, wind)
    assert abs(needle.deg) < 0.7
    assert abs(difference_deg(tracker.holding_mag_deg, holding.heading_deg)) < 2.5
    assert abs(difference_deg(aircraft.heading_mag_deg, holding.heading_deg)) < 4.0


def test_first_cut_is_20_degrees_toward_the_needle():
    # Instrument Flying Handbook FAA-H-8083-15A p. 7-14 (secondary copy): first cut 20 degrees.
    tracker, needle = Tracker(90.0), Needle(10.0)
    tracker.begin(90.0)
    needle.watch(0.0, -10.0)
    assert tracker.steer(needle, 90.0, STEP_S) == pytest.approx(90.0 - FIRST_CUT_DEG)


def test_cut_grows_where_the_needle_stays_at_the_stop():
    tracker, needle = Tracker(90.0), Needle(10.0)
    tracker.begin(90.0)
    heading, headings = 110.0, []
    for step in range(600):
        needle.watch(step * STEP_S, 10.0)
        heading = tracker.steer(needle, heading, STEP_S)
        headings.append(heading)
    assert headings[75] == pytest.approx(110.0)
    assert headings[-1] == pytest.approx(130.0)


def test_cut_does_not_grow_while_he_still_turns_onto_it():
    tracker, needle = Tracker(90.0), Needle(10.0)
    tracker.begin(90.0)
    for step in range(600):
        needle.watch(step * STEP_S, 10.0)
        heading = tracker.steer(needle, 30.0, STEP_S)
    assert heading == pytest.approx(110.0)


def test_wind_learnt_on_one_course_serves_on_the_next():
    wind = Wind(from_deg=130.0, speed_kt=18.0)
    aircraft, needle, tracker = fly_outbound(wind, right_nm=0.0, seconds=200)
    tracker.learn_wind(needle, aircraft.heading_mag_deg)
    tracker.begin(220.0)
    expected = solve_triangle(220.0, 90.0, wind).correction_deg
    assert expected < -10
    assert tracker.correction_deg == pytest.approx(expected, abs=1.5)


def test_nothing_is_learnt_off_the_course():
    tracker, needle = Tracker(90.0), Needle(10.0)
    tracker.begin(40.0)
    needle.watch(0.0, 6.0)
    tracker.learn_wind(needle, 60.0)
    tracker.begin(40.0)
    assert tracker.correction_deg == 0.0
