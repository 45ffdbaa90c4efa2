"""A drill worked out for a wind and a speed: what to steer, when each leg begins, how far it reaches.

Never a rule of thumb: every leg is flown by the aircraft and receiver models of `coach.nav`, each beginning
at the checkpoint of the one before.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from coach.drill.flown import Air, Flown, fly_leg, over_ground, steered_mag_deg
from coach.drill.lap_times import LapTimes
from coach.drill.model import Drill, Ending, Leg
from coach.errors import DrillError, Problem
from coach.nav.aircraft import Aircraft, over_station
from coach.nav.angles import as_heading, difference_deg
from coach.nav.course import Course, course_in_wind
from coach.nav.path import Path, duration_s, farthest, find_fall
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.nav.vor import FULL_SCALE_DEG, cone_radius_nm, off_course_deg
from coach.nav.wind import CALM, Reference, Wind, render_wind

BESIDE_NM = 0.1
"""A course left or a station passed farther beside than this is worth a warning; our own choice."""

CONE_SHARE = 1 / 3
"""Half the cone's time over more than this share of the outbound leg is worth a warning (`procedure.md`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLeg:
    """One leg of the drill as it will be flown."""

    leg: Leg
    steer_mag_deg: int | None
    """What to steer after the turn, 1-360: wind-corrected where a course is tracked, else as published."""

    start_s: float
    """When its heading change begins; the first passage is 0."""

    duration_s: float
    """Until the next leg's heading change begins."""

    turn_s: float
    """How long the turn at its start takes, to the first wings level."""

    needle_alive_s: float | None
    """When the needle leaves the stop on a leg that ends on an intercept, on the same clock as `start_s`.

    None on other legs, and where the needle was not at the stop on this leg.
    """

    intercept_s: float | None
    """Seconds flown on the intercept heading before the last turn; None where the leg has no such heading.

    Negative where the last turn should have begun so much earlier: `goes_through`.
    """

    established_s: float | None
    """When it is on its course and the heading that holds it, same clock; None where it never is."""

    ground_speed_kt: float
    """At the end of the leg."""

    correction_deg: float | None
    """Wind correction angle of a leg that tracks a course, right positive; None on other legs."""

    beside_nm: float | None
    """How far right of its course a tracked leg ends, left negative; None on other legs."""

    path: Path
    """What is flown from `start_s` on."""

    @property
    def end_s(self) -> float:
        """When the next leg's heading change begins; where the leg ends on passage, the passage."""
        return self.start_s + self.duration_s

    @property
    def goes_through(self) -> bool:
        """Whether the aircraft goes through the course before it can roll out on it, and must cut back."""
        return self.intercept_s is not None and self.intercept_s < 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A drill worked out."""

    drill: Drill
    tas_kt: float
    wind: Wind
    """Counted from magnetic north."""

    legs: tuple[PlannedLeg, ...]
    total_s: float
    """From the first passage to the end of the last leg."""

    reach_nm: float
    """The farthest from the station, the bulge of turns included."""

    reach_radial_mag_deg: int
    """The radial on which that is, 1-360."""

    warnings: tuple[str, ...]
    """One sentence each: the drill's own, then what this wind, speed and height add."""


def plan_drill(
    drill: Drill,
    *,
    tas_kt: float = 90.0,
    wind: Wind | None = None,
    declination_deg: float | None = None,
    height_ft: float = 2000.0,
    full_scale_deg: float = FULL_SCALE_DEG,
    rate_deg_s: float = STANDARD_RATE_DEG_S,
) -> Plan:
    """Return the plan of a drill whose first passage is at time 0.

    `wind` None is calm; a true wind is turned by `declination_deg` (the station's, east positive; None: taken
    as 0, with a warning). `height_ft` above the station serves the cone of ambiguity. Raises DrillError where
    the wind is as strong as the TAS or a leg cannot be closed.
    """
    steady = _steady(tas_kt, wind or CALM, declination_deg)
    air = Air(tas_kt=tas_kt, wind=steady, timer_from=drill.timer_from)
    legs = tuple(_plan_legs(drill, air, rate_deg_s, full_scale_deg))
    reach = max((farthest(leg.path) for leg in legs), key=lambda aircraft: aircraft.distance_nm)
    is_assumed = wind is not None and wind.reference is Reference.TRUE and declination_deg is None
    return Plan(
        drill=drill,
        tas_kt=tas_kt,
        wind=steady,
        legs=legs,
        total_s=legs[-1].end_s,
        reach_nm=reach.distance_nm,
        reach_radial_mag_deg=as_heading(reach.radial_mag_deg),
        warnings=(*drill.warnings, *_warnings(drill, legs, tas_kt, height_ft, is_assumed)),
    )


def _steady(tas_kt: float, wind: Wind, declination_deg: float | None) -> Wind:
    """Return the wind counted from magnetic north; raises DrillError where no drill can be flown in it."""
    if not tas_kt > 0.0:
        raise DrillError(Problem(where="TAS", expected="more than 0 kt", got=f"{tas_kt:g}"))
    if not wind.speed_kt < tas_kt:
        expected = f"a wind weaker than {tas_kt:g} kt TAS"
        raise DrillError(Problem(where="wind", expected=expected, got=render_wind(wind)))
    return wind.as_magnetic(declination_deg or 0.0)


def _plan_legs(drill: Drill, air: Air, rate_deg_s: float, full_scale_deg: float) -> Iterator[PlannedLeg]:
    aircraft, start_s = begun_at(drill, air.tas_kt, air.wind, rate_deg_s), 0.0
    laps = LapTimes(drill.legs)
    for published, following in zip(drill.legs, (*drill.legs[1:], None), strict=True):
        leg = over_ground(laps.corrected(published), air)
        flown = fly_leg(leg, following, aircraft, air)
        laps.note(leg, flown)
        planned = _planned(leg, flown, start_s, air, full_scale_deg)
        yield planned
        aircraft, start_s = flown.path[-1].end, planned.end_s


def begun_at(drill: Drill, tas_kt: float, wind: Wind, rate_deg_s: float = STANDARD_RATE_DEG_S) -> Aircraft:
    """Return the aircraft where the drill begins; the wind counted from magnetic north.

    A drill that begins on passage is arrived for on a course that is tracked, any other on a heading.
    """
    if drill.begins_on is Ending.PASSAGE:
        arriving = course_in_wind(drill.arrive_course_mag_deg, tas_kt, wind)
        return over_station(arriving.heading_mag_deg, tas_kt, wind, rate_deg_s)
    aircraft = over_station(drill.arrive_course_mag_deg, tas_kt, wind, rate_deg_s)
    if drill.start is None:
        return aircraft
    radial = math.radians(drill.start.radial_mag_deg)
    distance_nm = drill.start.distance_nm
    return replace(aircraft, east_nm=distance_nm * math.sin(radial), north_nm=distance_nm * math.cos(radial))


def _planned(leg: Leg, flown: Flown, start_s: float, air: Air, full_scale_deg: float) -> PlannedLeg:
    course = air.course(leg) if leg.tracks else None
    end = flown.path[-1].end
    alive_s = _find_alive(leg, flown.path, full_scale_deg)
    return PlannedLeg(
        leg=leg,
        steer_mag_deg=_steer_mag_deg(leg, course, air),
        start_s=start_s,
        duration_s=duration_s(flown.path),
        turn_s=flown.turn_s,
        needle_alive_s=None if alive_s is None else start_s + alive_s,
        intercept_s=flown.intercept_s,
        established_s=None if flown.established_s is None else start_s + flown.established_s,
        ground_speed_kt=end.ground_speed_kt,
        correction_deg=difference_deg(course.heading_mag_deg, course.course_mag_deg) if course else None,
        beside_nm=course.across_nm(end) if course else None,
        path=flown.path,
    )


def _steer_mag_deg(leg: Leg, course: Course | None, air: Air) -> int | None:
    if course is not None:
        return as_heading(course.heading_mag_deg)
    if leg.heading_mag_deg is None:
        return None
    return as_heading(steered_mag_deg(leg, leg.heading_mag_deg, air))


def _find_alive(leg: Leg, path: Path, full_scale_deg: float) -> float | None:
    """Return when the needle leaves the stop, seconds from the start of a leg that ends on an intercept."""
    course = leg.course_mag_deg
    if leg.ends_on is not Ending.INTERCEPT or course is None:
        return None

    def beyond_deg(aircraft: Aircraft) -> float:
        # Not the whole receiver: this one angle is looked at hundreds of times in a plan.
        return abs(off_course_deg(aircraft.radial_mag_deg, course)) - full_scale_deg

    return find_fall(path, beyond_deg)


def _warnings(
    drill: Drill, legs: tuple[PlannedLeg, ...], tas_kt: float, height_ft: float, is_assumed: bool
) -> Iterator[str]:
    if is_assumed:
        yield "The wind is true and no declination is given: it is taken as magnetic."
    yield from _warn_cone(drill, legs, tas_kt, height_ft)
    yield from _warn_beside(legs, tas_kt, Ending.TIME, "still beside its radial at leg time")
    yield from _warn_beside(legs, tas_kt, Ending.PASSAGE, "beside the station when it goes by")


def _warn_cone(drill: Drill, legs: tuple[PlannedLeg, ...], tas_kt: float, height_ft: float) -> Iterator[str]:
    """Where the flag may reverse so late that too much of the leg out from the station is gone."""
    half_s = cone_radius_nm(height_ft) / tas_kt * 3600.0
    shortest_s = min(_outbound_times_s(drill, legs), default=half_s / CONE_SHARE)
    if half_s > shortest_s * CONE_SHARE:
        yield (
            f"At {height_ft:.0f} ft above the station half the cone of ambiguity lasts {half_s:.0f} s, "
            "over a third of the outbound leg: choose lower or a longer leg."
        )


def _outbound_times_s(drill: Drill, legs: tuple[PlannedLeg, ...]) -> Iterator[float]:
    """Yield the leg times of the legs that track a course out from the station."""
    begun_on = drill.begins_on
    for planned in legs:
        if planned.leg.tracks and planned.leg.leg_s and begun_on is Ending.PASSAGE:
            yield planned.leg.leg_s
        begun_on = planned.leg.ends_on


def _warn_beside(legs: tuple[PlannedLeg, ...], tas_kt: float, ends_on: Ending, where: str) -> Iterator[str]:
    off = {
        leg.leg.n: abs(leg.beside_nm)
        for leg in legs
        if leg.leg.ends_on is ends_on and leg.beside_nm is not None and abs(leg.beside_nm) > BESIDE_NM
    }
    if off:
        most_nm, numbers = max(off.values()), ", ".join(map(str, off))
        yield (
            f"On {'leg' if len(off) == 1 else 'legs'} {numbers} the aircraft is {where}, "
            f"by up to {most_nm:.2f} NM ({most_nm / tas_kt * 3600.0:.0f} s of flight)."
        )
