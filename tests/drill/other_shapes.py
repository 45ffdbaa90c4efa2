"""Drills of other shapes than spokes, built from legs without a file: a hold, an arc, circles, a climb."""

from __future__ import annotations

from dataclasses import replace

from coach.drill.model import Drill, Ending, Leg, Start, TimerFrom, Turn
from tests.drill.eight_spoke import eight_spoke, leg


def begun_anywhere(*legs: Leg, heading: int = 360, start: Start | None = None) -> Drill:
    """A drill that begins on the pilot's word."""
    drill = eight_spoke(spokes=1)
    return replace(
        drill, legs=legs, begins_on=Ending.WORD, start=start, arrive_course_mag_deg=heading, name="other"
    )


def hold() -> Drill:
    """Inbound 290, right turns, triple drift outbound; it begins over the station."""
    out = leg(1, None, "outbound", Turn.RIGHT, 180, 110, 290, tracks=False, leg_s=60, ends_on=Ending.TIME)
    back = leg(2, None, "inbound", Turn.RIGHT, 180, 290, 290, tracks=True, ends_on=Ending.PASSAGE)
    legs = (replace(out, drift=3, lap=1, timed_from=TimerFrom.LEVEL), replace(back, lap=1))
    return replace(eight_spoke(spokes=1), legs=legs, arrive_course_mag_deg=290)


def arc() -> Drill:
    """Five minutes of a 10-mile arc, begun on the 325 radial from outside."""
    around = leg(1, None, "arc", Turn.LEFT, 90, 55, 325, tracks=False, leg_s=300, ends_on=Ending.TIME)
    start = Start(radial_mag_deg=325, distance_nm=10.5)
    return begun_anywhere(replace(around, arc_nm=10.0), heading=145, start=start)


def circles() -> Drill:
    """A circle right, twice."""
    legs = [
        leg(n, None, "right_circle", Turn.RIGHT, 360, 360, None, tracks=False, ends_on=Ending.HEADING)
        for n in (1, 2)
    ]
    return begun_anywhere(*(replace(each, lap=each.n) for each in legs))


def up_and_down() -> Drill:
    """500 ft up, 1,000 ft down, at 500 ft/min."""
    straight = leg(1, None, "phase", Turn.NONE, 0, 360, None, tracks=False, ends_on=Ending.ALTITUDE)
    return begun_anywhere(
        replace(straight, climb_ft=500.0, rate_ft_min=500.0),
        replace(straight, n=2, climb_ft=-1000.0, rate_ft_min=500.0),
    )


def across() -> Drill:
    """From the 360 radial at 14 NM to the 350 radial, the station on the wing tip."""
    bearing = leg(1, None, "bearing", Turn.NONE, 0, 270, 350, tracks=False, ends_on=Ending.RADIAL)
    return begun_anywhere(bearing, heading=270, start=Start(radial_mag_deg=360, distance_nm=14.0))
