"""A course through the station: where it lies, and how to get onto it and stay there.

Never steers by chance or by feedback: every lead and every cut is solved exactly for a constant wind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.errors import DrillError, Problem
from coach.nav.aircraft import Aircraft
from coach.nav.path import Path, Piece, straight, turning
from coach.nav.wind import Wind, solve_triangle

ON_COURSE_NM = 1e-6
"""Nearer than this the aircraft is on the course."""

_HALVINGS = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A line through the station, with the heading that holds it in the wind."""

    course_mag_deg: float
    heading_mag_deg: float
    """What to steer along it, not rounded."""

    ground_speed_kt: float
    """Made good along it, above 0."""

    def across_nm(self, aircraft: Aircraft) -> float:
        """Return how far the aircraft is right of the line, seen along the course; left negative."""
        angle = math.radians(self.course_mag_deg)
        return aircraft.east_nm * math.cos(angle) - aircraft.north_nm * math.sin(angle)

    def along_nm(self, aircraft: Aircraft) -> float:
        """Return how far the aircraft is beyond abeam the station, along the course; before it negative."""
        angle = math.radians(self.course_mag_deg)
        return aircraft.east_nm * math.sin(angle) + aircraft.north_nm * math.cos(angle)

    def drift_right_nm_s(self, aircraft: Aircraft) -> float:
        """Return how fast the aircraft moves to the right of the line."""
        angle = math.radians(self.course_mag_deg)
        across_kt = aircraft.ground_east_kt * math.cos(angle) - aircraft.ground_north_kt * math.sin(angle)
        return across_kt / 3600.0


def course_in_wind(course_mag_deg: float, tas_kt: float, wind: Wind) -> Course:
    """Return a course with what holds it; raises DrillError where the wind is too strong for it."""
    triangle = solve_triangle(course_mag_deg, tas_kt, wind)
    return Course(
        course_mag_deg=course_mag_deg,
        heading_mag_deg=triangle.heading_deg,
        ground_speed_kt=triangle.ground_speed_kt,
    )


def find_lead_s(aircraft: Aircraft, course: Course, turn_deg: float) -> float | None:
    """Return the seconds to fly straight on before a turn that rolls out on the course; right turns positive.

    Negative where the turn should have begun already; None where the heading does not close on the course.
    """
    closing = course.drift_right_nm_s(aircraft)
    if abs(closing) < 1e-9:
        return None
    return -course.across_nm(aircraft.turn(turn_deg)) / closing


def join(aircraft: Aircraft, course: Course, *, turn_deg: float, cut_deg: float) -> Path:
    """Return the turns and the straight that end on the course, on the heading that holds it.

    `turn_deg` leads to that heading, right positive. Where it would roll out beside the course the aircraft
    turns on (or rolls out early) to a cut of `cut_deg` toward it, less where that would go through. The last
    turn is led. Empty where nothing is to turn.
    """
    beside_nm = course.across_nm(aircraft.turn(turn_deg))
    if abs(beside_nm) <= ON_COURSE_NM:
        return (turning(aircraft, turn_deg),) if turn_deg else ()
    toward_deg = math.copysign(cut_deg, -beside_nm)
    rolled_out = aircraft.turn(turn_deg + toward_deg)
    if course.drift_right_nm_s(rolled_out) * beside_nm >= 0.0:
        raise DrillError(_cannot_close(course, cut_deg))
    lead_s = find_lead_s(rolled_out, course, -toward_deg)
    if lead_s is None or lead_s < 0.0:
        toward_deg = _largest_cut(aircraft, course, turn_deg, toward_deg)
        lead_s = 0.0
    return _cut(aircraft, turn_deg, toward_deg, lead_s)


def _cannot_close(course: Course, cut_deg: float) -> Problem:
    expected = f"a wind in which a {cut_deg:g}-degree cut closes on course {course.course_mag_deg:03.0f}"
    return Problem(where="wind", expected=expected, got="one in which it does not")


def _cut(aircraft: Aircraft, turn_deg: float, toward_deg: float, lead_s: float) -> Path:
    first = turning(aircraft, turn_deg + toward_deg)
    middle = straight(first.end, lead_s)
    pieces: tuple[Piece, ...] = (first, middle, turning(middle.end, -toward_deg))
    return tuple(piece for piece in pieces if piece.duration_s > 0.0)


def _largest_cut(aircraft: Aircraft, course: Course, turn_deg: float, toward_deg: float) -> float:
    """Return the cut whose two turns, with no straight between, just reach the course."""

    def overshoot_nm(cut_deg: float) -> float:
        rolled_out = aircraft.turn(turn_deg + cut_deg).turn(-cut_deg)
        return course.across_nm(rolled_out) * math.copysign(1.0, toward_deg)

    short, over = 0.0, toward_deg
    for _ in range(_HALVINGS):
        middle = (short + over) / 2.0
        if overshoot_nm(middle) < 0.0:
            short = middle
        else:
            over = middle
    return (short + over) / 2.0
