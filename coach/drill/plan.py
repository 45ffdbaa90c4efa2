"""A drill worked out for a wind and a speed: what to steer, when each leg begins, how far it reaches.

Never a rule of thumb: every leg is flown by the aircraft and receiver models of `coach.nav`, by a pilot who
holds every heading, leads every turn onto a course exactly, and begins each leg at its checkpoint.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from coach.drill.model import Drill, Ending, Leg, TimerFrom, Turn
from coach.errors import DrillError, Problem
from coach.nav.aircraft import Aircraft, over_station
from coach.nav.angles import as_heading, difference_deg
from coach.nav.course import Course, course_in_wind, find_lead_s, join
from coach.nav.path import Path, clip, duration_s, farthest, find_fall, straight, turning
from coach.nav.vor import cone_radius_nm, off_course_deg, receive
from coach.nav.wind import CALM, Reference, Wind, render_wind

CUT_DEG = 20.0
"""First cut toward a course beside the aircraft (Instrument Flying Handbook FAA-H-8083-15A p. 7-14)."""

FAR_CUT_DEG = 45.0
"""The cut after a passage turn of more than `WIDE_TURN_DEG`: 20 degrees would not close in time; our own."""

WIDE_TURN_DEG = 90

BESIDE_NM = 0.1
"""A course left or a station passed farther beside than this is worth a warning; our own choice."""

CONE_SHARE = 1 / 3
"""Half the cone's time over more than this share of the outbound leg is worth a warning (`procedure.md`)."""

LONGEST_LEG_S = 3600.0
"""A leg that would last longer cannot be closed."""


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

    None on other legs, and where the needle never was at the stop.
    """

    intercept_s: float | None
    """Seconds flown on the intercept heading before the last turn; None where the leg has no intercept.

    Negative: the last turn should have begun so much earlier; the turn goes on past the course to cut back.
    """

    goes_through: bool
    """The aircraft goes through the course before it rolls out on the intercept heading."""

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
    """One sentence each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Air:
    """What stays the same for the whole plan."""

    tas_kt: float
    wind: Wind
    timer_from: TimerFrom
    full_scale_deg: float

    def course(self, leg: Leg) -> Course:
        if leg.course_mag_deg is None:
            raise DrillError(_unplannable(leg, "a course to track"))
        return course_in_wind(leg.course_mag_deg, self.tas_kt, self.wind)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Flown:
    """One leg flown, times counted from its own start."""

    path: Path
    turn_s: float
    intercept_s: float | None = None
    goes_through: bool = False
    established_s: float | None = None


def plan_drill(
    drill: Drill,
    *,
    tas_kt: float = 90.0,
    wind: Wind | None = None,
    declination_deg: float | None = None,
    height_ft: float = 3000.0,
    full_scale_deg: float = 10.0,
) -> Plan:
    """Return the plan of a drill whose first passage is at time 0.

    `wind` None is calm; a true wind is turned by `declination_deg` (the station's, east positive; None: taken
    as 0, with a warning). `height_ft` above the station serves the cone of ambiguity. Raises DrillError where
    the wind is as strong as the TAS or a leg cannot be closed.
    """
    if tas_kt <= 0.0:
        raise DrillError(Problem(where="TAS", expected="more than 0 kt", got=f"{tas_kt:g}"))
    is_assumed = wind is not None and wind.reference is Reference.TRUE and declination_deg is None
    steady = (wind or CALM).as_magnetic(declination_deg or 0.0)
    if steady.speed_kt >= tas_kt:
        expected = f"a wind weaker than {tas_kt:g} kt TAS"
        raise DrillError(Problem(where="wind", expected=expected, got=render_wind(wind or CALM)))
    air = _Air(tas_kt=tas_kt, wind=steady, timer_from=drill.timer_from, full_scale_deg=full_scale_deg)
    legs = tuple(_plan_legs(drill, air))
    reach = max((farthest(leg.path) for leg in legs), key=lambda aircraft: aircraft.distance_nm)
    radial = receive(reach.east_nm, reach.north_nm, course_mag_deg=360.0).radial_mag_deg
    return Plan(
        drill=drill,
        tas_kt=tas_kt,
        wind=steady,
        legs=legs,
        total_s=legs[-1].end_s,
        reach_nm=reach.distance_nm,
        reach_radial_mag_deg=as_heading(radial),
        warnings=(*drill.warnings, *_warnings(legs, air, height_ft, is_assumed)),
    )


def _plan_legs(drill: Drill, air: _Air) -> Iterator[PlannedLeg]:
    arriving = course_in_wind(drill.arrive_course_mag_deg, air.tas_kt, air.wind)
    aircraft = over_station(arriving.heading_mag_deg, air.tas_kt, air.wind)
    start_s = 0.0
    for leg, following in zip(drill.legs, (*drill.legs[1:], None), strict=True):
        flown = _fly(leg, following, aircraft, air)
        planned = _planned(leg, flown, start_s, air)
        yield planned
        aircraft, start_s = flown.path[-1].end, planned.end_s


def _planned(leg: Leg, flown: _Flown, start_s: float, air: _Air) -> PlannedLeg:
    course = air.course(leg) if leg.tracks else None
    end = flown.path[-1].end
    alive_s = _find_alive(leg, flown.path, air) if leg.ends_on is Ending.INTERCEPT else None
    return PlannedLeg(
        leg=leg,
        steer_mag_deg=as_heading(course.heading_mag_deg) if course else leg.heading_mag_deg,
        start_s=start_s,
        duration_s=duration_s(flown.path),
        turn_s=flown.turn_s,
        needle_alive_s=None if alive_s is None else start_s + alive_s,
        intercept_s=flown.intercept_s,
        goes_through=flown.goes_through,
        established_s=None if flown.established_s is None else start_s + flown.established_s,
        ground_speed_kt=end.ground_speed_kt,
        correction_deg=difference_deg(course.heading_mag_deg, course.course_mag_deg) if course else None,
        beside_nm=course.across_nm(end) if course else None,
        path=flown.path,
    )


def _find_alive(leg: Leg, path: Path, air: _Air) -> float | None:
    """Return when the needle leaves the stop, seconds from the leg's start."""
    course = leg.course_mag_deg
    if course is None:
        return None

    def beyond_deg(aircraft: Aircraft) -> float:
        radial = receive(aircraft.east_nm, aircraft.north_nm, course_mag_deg=course).radial_mag_deg
        return abs(off_course_deg(radial, course)) - air.full_scale_deg

    return find_fall(path, beyond_deg)


def _fly(leg: Leg, following: Leg | None, aircraft: Aircraft, air: _Air) -> _Flown:
    if leg.tracks:
        return _track(leg, aircraft, air)
    return _hold_heading(leg, following, aircraft, air)


def _track(leg: Leg, aircraft: Aircraft, air: _Air) -> _Flown:
    """Join the leg's course and track it until the leg ends."""
    course = air.course(leg)
    turn_deg = _turn_deg(leg, aircraft, course.heading_mag_deg)
    cut_deg = FAR_CUT_DEG if leg.turn_deg > WIDE_TURN_DEG else CUT_DEG
    joining = join(aircraft, course, turn_deg=turn_deg, cut_deg=cut_deg) or (straight(aircraft, 0.0),)
    turn_s = joining[0].duration_s
    established_s = duration_s(joining)
    if leg.ends_on is Ending.PASSAGE:
        end_s = _passage_s(leg, joining, course)
    elif leg.ends_on is Ending.ESTABLISHED:
        end_s = established_s
    else:
        end_s = _end_s(leg, turn_s, air)
    return _Flown(
        path=clip(joining, end_s),
        turn_s=turn_s,
        established_s=established_s if established_s <= end_s else None,
    )


def _hold_heading(leg: Leg, following: Leg | None, aircraft: Aircraft, air: _Air) -> _Flown:
    target = aircraft.heading_mag_deg + _SIGN[leg.turn] * leg.turn_deg
    turn_deg = _turn_deg(leg, aircraft, target if leg.heading_mag_deg is None else leg.heading_mag_deg)
    arc = turning(aircraft, turn_deg)
    if leg.ends_on is Ending.INTERCEPT:
        return _intercept(leg, following, (arc,), air)
    return _Flown(path=clip((arc,), _end_s(leg, arc.duration_s, air)), turn_s=arc.duration_s)


def _intercept(leg: Leg, following: Leg | None, turned: Path, air: _Air) -> _Flown:
    """Fly the intercept heading to where the next leg's turn must begin."""
    if following is None or not following.tracks:
        raise DrillError(_unplannable(leg, "a leg that tracks a course after it"))
    course, rolled_out = air.course(following), turned[-1].end
    lead_s = find_lead_s(rolled_out, course, _turn_deg(following, rolled_out, course.heading_mag_deg))
    if lead_s is None or lead_s > LONGEST_LEG_S:
        raise DrillError(_unplannable(leg, "a wind in which its heading closes on the course"))
    turn_s = duration_s(turned)
    return _Flown(
        path=clip(turned, turn_s + max(0.0, lead_s)),
        turn_s=turn_s,
        intercept_s=lead_s,
        goes_through=course.across_nm(turned[0].start) * course.across_nm(rolled_out) < 0.0,
    )


def _passage_s(leg: Leg, joining: Path, course: Course) -> float:
    """Return when the station goes by, on the course or beside it where there is no room to get onto it."""
    to_go_nm = -course.along_nm(joining[-1].end)
    if to_go_nm >= 0.0:
        return duration_s(joining) + to_go_nm / course.ground_speed_kt * 3600.0
    abeam_s = find_fall(joining, lambda aircraft: -course.along_nm(aircraft))
    if abeam_s is None:
        raise DrillError(_unplannable(leg, "a wind in which it is reached before the station"))
    return abeam_s


def _end_s(leg: Leg, turn_s: float, air: _Air) -> float:
    """Return when a leg ends whose end does not hang on a position."""
    if leg.ends_on is Ending.TIME and leg.leg_s is not None:
        return leg.leg_s + (turn_s if air.timer_from is TimerFrom.LEVEL else 0.0)
    if leg.ends_on is Ending.HEADING:
        return turn_s
    raise DrillError(_unplannable(leg, "an ending that can be planned"))


_SIGN = {Turn.LEFT: -1.0, Turn.RIGHT: 1.0, Turn.NONE: 0.0}


def _turn_deg(leg: Leg, aircraft: Aircraft, target_mag_deg: float) -> float:
    """Return the turn to a heading, the leg's way round; one made smaller by the wind may change its sign."""
    published = _SIGN[leg.turn] * leg.turn_deg
    return published + difference_deg(target_mag_deg, aircraft.heading_mag_deg + published)


def _unplannable(leg: Leg, expected: str) -> Problem:
    return Problem(where=f"leg {leg.n} {leg.leg}", expected=expected, got=leg.ends_on.value)


def _warnings(legs: tuple[PlannedLeg, ...], air: _Air, height_ft: float, is_assumed: bool) -> Iterator[str]:
    if is_assumed:
        yield "The wind is true and no declination is given: it is taken as magnetic."
    yield from _warn_cone(legs, air, height_ft)
    yield from _warn_beside(legs, air, Ending.TIME, "at leg time the aircraft is still beside the radial")
    yield from _warn_beside(legs, air, Ending.PASSAGE, "the station goes by beside the aircraft")


def _warn_cone(legs: tuple[PlannedLeg, ...], air: _Air, height_ft: float) -> Iterator[str]:
    """Where the flag may reverse so late that too much of the leg out from the station is gone."""
    times_s = [
        after.leg.leg_s
        for before, after in pairwise((None, *legs))
        if after is not None and after.leg.tracks and after.leg.leg_s is not None
        if before is None or before.leg.ends_on is Ending.PASSAGE
    ]
    half_s = cone_radius_nm(height_ft) / air.tas_kt * 3600.0
    if times_s and half_s > min(times_s) * CONE_SHARE:
        yield (
            f"At {height_ft:.0f} ft above the station half the cone of ambiguity lasts {half_s:.0f} s, "
            "over a third of the outbound leg: choose lower or a longer leg."
        )


def _warn_beside(legs: tuple[PlannedLeg, ...], air: _Air, ends_on: Ending, what: str) -> Iterator[str]:
    off = [leg for leg in legs if leg.leg.ends_on is ends_on and abs(leg.beside_nm or 0.0) > BESIDE_NM]
    if off:
        farthest_nm = max(abs(leg.beside_nm or 0.0) for leg in off)
        numbers = ", ".join(str(leg.leg.n) for leg in off)
        yield (
            f"On leg{'s' if len(off) > 1 else ''} {numbers} {what}, by up to {farthest_nm:.2f} NM "
            f"({farthest_nm / air.tas_kt * 3600.0:.0f} s of flight)."
        )
