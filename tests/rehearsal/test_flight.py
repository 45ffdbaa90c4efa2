"""What was flown is measured from the aircraft's own headings."""

from __future__ import annotations

import math

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.wind import CALM, Wind
from coach.rehearsal.flight import Flight, arriving
from coach.rehearsal.flying import LegBegun


class Scripted:
    """A pilot who turns to headings at times, by a list."""

    course_mag_deg = 360

    def __init__(self, *turns):
        self.turns = turns
        self.begun = [LegBegun(n=0, at_s=0.0)]
        self.vertical_ft_min = 0.0

    def fly(self, seen):
        done = [turn for turn in self.turns if turn[0] <= seen.at_s + 1e-9]
        if len(done) > len(self.begun) - 1:
            self.begun.append(LegBegun(n=len(done), at_s=seen.at_s))
        wanted = done[-1][1] if done else seen.heading_mag_deg
        return (wanted - seen.heading_mag_deg + 180) % 360 - 180


def flown(pilot, seconds, heading=90.0):
    flight = Flight(pilot, Aircraft(0.0, 1.0, heading, 90.0), full_scale_deg=10.0)
    for _ in range(round(seconds * 10)):
        flight.step()
    return flight.flown_legs()


def test_leg_begins_with_its_turn_and_has_the_heading_held_at_its_end():
    legs = flown(Scripted((10.0, 135.0), (60.0, 90.0)), 100)
    assert [(leg.n, leg.start_s, round(leg.heading_mag_deg, 6)) for leg in legs] == [
        (0, 0.0, 90.0),
        (1, pytest.approx(10.0), 135.0),
        (2, pytest.approx(60.0), 90.0),
    ]


def test_heading_never_held_is_the_last_one_reached():
    legs = flown(Scripted((0.0, 180.0), (10.0, 90.0)), 100)
    assert legs[1].heading_mag_deg == pytest.approx(90 + 10 * 3, abs=0.5)


def test_held_heading_is_a_circular_mean_over_north():
    legs = flown(Scripted((0.0, 1.0), (20.0, 359.0), (25.0, 270.0)), 60, heading=5.0)
    assert legs[2].heading_mag_deg == pytest.approx(359.0, abs=0.7)


def test_leg_begun_with_the_last_step_has_a_heading():
    assert flown(Scripted((9.9, 100.0)), 10)[-1].heading_mag_deg == pytest.approx(90.0)


def test_flight_begins_a_minute_before_the_station():
    aircraft = arriving(285, 90.0, CALM)
    assert aircraft.distance_nm == pytest.approx(1.5)
    there = aircraft.step(60.0)
    assert there.distance_nm == pytest.approx(0.0, abs=1e-9)


def test_wind_drifts_the_aircraft_and_not_its_heading():
    aircraft = arriving(360, 90.0, Wind(from_deg=270, speed_kt=20.0)).step(60.0)
    assert aircraft.heading_mag_deg == 360
    assert aircraft.east_nm == pytest.approx(20 / 60)
    assert math.isclose(aircraft.north_nm, 0.0, abs_tol=1e-9)
