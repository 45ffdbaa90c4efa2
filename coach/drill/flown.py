"""One leg flown by a pilot who holds every heading and leads every turn onto a course exactly.

Never steers by the needle: the pilot of a rehearsal does that. Times count from the leg's own start.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import islice

from coach.drill.arc import ARC_STEP_S, fly_arc
from coach.drill.model import Ending, Leg, TimerFrom, Turn
from coach.errors import DrillError, Problem
from coach.nav.aircraft import Aircraft
from coach.nav.angles import difference_deg, reciprocal_deg
from coach.nav.course import Course, course_in_wind, find_lead_s, join
from coach.nav.path import Path, clip, duration_s, find_fall, find_fall_flying_on, straight, turning
from coach.nav.turn import turn_time_s
from coach.nav.wind import Wind, render_wind

CUT_DEG = 20.0
"""First cut toward a course beside the aircraft (Instrument Flying Handbook FAA-H-8083-15A p. 7-14)."""

FAR_CUT_DEG = 45.0
"""The cut after a passage turn of more than `WIDE_TURN_DEG`: 20 degrees would not close in time; our own."""

WIDE_TURN_DEG = 90

LONGEST_LEG_S = 3600.0
"""A leg that would last longer cannot be closed."""

LONGEST_ABEAM_S = 240.0
"""An outbound leg that is not abeam its fix by then never is."""

OVER_STATION_NM = 0.5
"""A leg that begins farther from the station begins at no station: nothing shows when it is abeam."""

_SIGN = {Turn.LEFT: -1.0, Turn.RIGHT: 1.0, Turn.NONE: 0.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """What stays the same for the whole plan."""

    tas_kt: float
    wind: Wind
    """Counted from magnetic north."""

    timer_from: TimerFrom

    def course(self, leg: Leg) -> Course:
        """Return the leg's course in this wind; raises DrillError where the leg has none."""
        if leg.course_mag_deg is None:
            raise DrillError(_lacks(leg, "a course"))
        return course_in_wind(leg.course_mag_deg, self.tas_kt, self.wind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Flown:
    """One leg flown."""

    path: Path
    """At least one piece."""

    turn_s: float
    """To the first wings level."""

    intercept_s: float | None = None
    """Straight on the intercept heading before the last turn; negative where that turn comes too late."""

    established_s: float | None = None
    """On the course and on the heading that holds it; None where that never is."""


def fly_leg(leg: Leg, following: Leg | None, aircraft: Aircraft, air: Air) -> Flown:
    """Return the leg flown from where the one before ended; raises DrillError where it cannot be closed."""
    if leg.tracks:
        return _track(leg, aircraft, air)
    turn_deg = _turn_deg(leg, aircraft, steered_mag_deg(leg, aircraft.heading_mag_deg, air))
    turned = (turning(aircraft, turn_deg),)
    if leg.arc_nm is not None:
        return _arc(leg, leg.arc_nm, following, turned, air)
    if leg.ends_on is Ending.INTERCEPT:
        return _intercept(leg, following, turned, air)
    turn_s = duration_s(turned)
    return Flown(path=clip(turned, _end_s(leg, turned, turn_s, air)), turn_s=turn_s)


def over_ground(leg: Leg, air: Air) -> Leg:
    """Return a leg whose wind is corrected with the time that its straight part's length then takes."""
    if not leg.corrects_wind or leg.leg_s is None or leg.heading_mag_deg is None:
        return leg
    turn_s = turn_time_s(leg.turn_deg) if (leg.timed_from or air.timer_from) is TimerFrom.TURN else 0.0
    straight_s = max(0.0, leg.leg_s - turn_s)
    ground_speed_kt = course_in_wind(leg.heading_mag_deg, air.tas_kt, air.wind).ground_speed_kt
    return replace(
        leg, leg_s=float(round(leg.leg_s - straight_s + straight_s * air.tas_kt / ground_speed_kt))
    )


def steered_mag_deg(leg: Leg, was_mag_deg: float, air: Air) -> float:
    """Return the heading that a leg flies without a course to track, not rounded."""
    if leg.heading_mag_deg is None:
        return was_mag_deg + _SIGN[leg.turn] * leg.turn_deg
    if leg.corrects_wind:
        return course_in_wind(leg.heading_mag_deg, air.tas_kt, air.wind).heading_mag_deg
    if not leg.drift:
        return leg.heading_mag_deg
    inbound_mag_deg = reciprocal_deg(leg.heading_mag_deg)
    inbound = course_in_wind(inbound_mag_deg, air.tas_kt, air.wind)
    return leg.heading_mag_deg - leg.drift * difference_deg(inbound.heading_mag_deg, inbound_mag_deg)


def _arc(leg: Leg, arc_nm: float, following: Leg | None, turned: Path, air: Air) -> Flown:
    """Keep a distance from the station, correcting as the distance shown asks for, until the leg ends."""
    turn_s = duration_s(turned)
    if leg.leg_s is not None:
        path = (
            *turned,
            *islice(fly_arc(turned[-1].end, arc_nm, air.wind), math.ceil(leg.leg_s / ARC_STEP_S)),
        )
        return Flown(path=clip(path, _end_s(leg, path, turn_s, air)), turn_s=turn_s)
    left = _arc_measure(leg, following, turned[-1].end, air)
    flown = turned
    for piece in islice(fly_arc(turned[-1].end, arc_nm, air.wind), math.ceil(LONGEST_LEG_S / ARC_STEP_S)):
        flown = (*flown, piece)
        ends_s = find_fall((piece,), left)
        if ends_s is not None:
            return Flown(path=clip(flown, duration_s(flown) - piece.duration_s + ends_s), turn_s=turn_s)
    raise DrillError(_cannot_close(leg, air))


def _arc_measure(leg: Leg, following: Leg | None, begun: Aircraft, air: Air) -> Callable[[Aircraft], float]:
    """Return what falls to 0 where the arc is left: at a radial, or where the turn onto a course is due."""
    if leg.ends_on is Ending.RADIAL and leg.course_mag_deg is not None:
        radial = leg.course_mag_deg
        side = 1.0 if difference_deg(begun.radial_mag_deg, radial) > 0.0 else -1.0
        return lambda aircraft: side * difference_deg(aircraft.radial_mag_deg, radial)
    if leg.ends_on is not Ending.INTERCEPT or following is None or not following.tracks:
        raise DrillError(_lacks(leg, "a radial or a course that ends its arc"))
    course = air.course(following)

    def beside_nm(aircraft: Aircraft) -> float:
        turn_deg = _turn_deg(following, aircraft, course.heading_mag_deg)
        return course.across_nm(aircraft.turn(turn_deg))

    side = 1.0 if beside_nm(begun) > 0.0 else -1.0
    return lambda aircraft: side * beside_nm(aircraft)


def _track(leg: Leg, aircraft: Aircraft, air: Air) -> Flown:
    """Join the leg's course and track it until the leg ends."""
    course = air.course(leg)
    turn_deg = _turn_deg(leg, aircraft, course.heading_mag_deg)
    cut_deg = FAR_CUT_DEG if leg.turn_deg > WIDE_TURN_DEG else CUT_DEG
    joining = join(aircraft, course, turn_deg=turn_deg, cut_deg=cut_deg) or (straight(aircraft, 0.0),)
    turn_s, established_s = joining[0].duration_s, duration_s(joining)
    end_s = established_s if leg.ends_on is Ending.ESTABLISHED else _end_s(leg, joining, turn_s, air)
    return Flown(
        path=clip(joining, end_s),
        turn_s=turn_s,
        established_s=established_s if established_s <= end_s else None,
    )


def _intercept(leg: Leg, following: Leg | None, turned: Path, air: Air) -> Flown:
    """Fly the intercept heading to where the next leg's turn onto its course must begin."""
    if following is None or not following.tracks:
        raise DrillError(_lacks(leg, "a leg that tracks a course after it"))
    course, rolled_out = air.course(following), turned[-1].end
    lead_s = find_lead_s(rolled_out, course, _turn_deg(following, rolled_out, course.heading_mag_deg))
    if lead_s is None or lead_s > LONGEST_LEG_S:
        raise DrillError(_cannot_close(leg, air))
    turn_s = duration_s(turned)
    return Flown(
        path=clip(turned, turn_s + max(0.0, lead_s)),
        turn_s=turn_s,
        intercept_s=lead_s,
    )


def _end_s(leg: Leg, begun: Path, turn_s: float, air: Air) -> float:
    """Return when a leg ends that begins with this path and then goes on straight."""
    if leg.ends_on is Ending.HEADING:
        return turn_s
    if leg.ends_on is Ending.PASSAGE:
        return _passage_s(leg, begun, air)
    if leg.ends_on is Ending.RADIAL:
        return _radial_s(leg, begun, air)
    if leg.distance_nm is not None:
        return _distance_s(leg, leg.distance_nm, begun, air)
    if leg.ends_on is Ending.ALTITUDE and leg.altitude_s is not None:
        return leg.altitude_s
    if leg.leg_s is None:
        raise DrillError(_lacks(leg, "a leg time to plan with"))
    return leg.leg_s + _timer_s(leg, begun, turn_s, air)


def _timer_s(leg: Leg, begun: Path, turn_s: float, air: Air) -> float:
    """Return when the leg time begins to count: at once, with the wings level, or abeam where it began."""
    timer_from = leg.timed_from or air.timer_from
    if timer_from is TimerFrom.TURN:
        return 0.0
    fix = begun[0].start
    if timer_from is TimerFrom.LEVEL or fix.distance_nm > OVER_STATION_NM:
        return turn_s
    inbound = air.course(leg)
    # Never beyond abeam: it is timed from over the fix (AIM 5-3-8j4: whichever is later).
    return find_fall(clip(begun, LONGEST_ABEAM_S), inbound.along_nm) or 0.0


def _distance_s(leg: Leg, distance_nm: float, begun: Path, air: Air) -> float:
    """Return when the distance from the station is reached, from within or from beyond."""
    side = 1.0 if begun[0].start.distance_nm > distance_nm else -1.0
    # On a course it must lie ahead: not behind the station.
    is_behind = leg.tracks and side * air.course(leg).along_nm(begun[0].start) > 0.0
    if is_behind:
        raise DrillError(_cannot_close(leg, air))
    ahead = clip(begun, duration_s(begun) + LONGEST_LEG_S)
    reached_s = find_fall(ahead, lambda aircraft: side * (aircraft.distance_nm - distance_nm))
    if reached_s is None:
        raise DrillError(_cannot_close(leg, air))
    return reached_s


def _passage_s(leg: Leg, begun: Path, air: Air) -> float:
    """Return when the station goes by, on the course or beside it where there is no room to get onto it."""
    course = air.course(leg)
    passage_s = find_fall_flying_on(begun, lambda aircraft: -course.along_nm(aircraft))
    if passage_s is None or passage_s > LONGEST_LEG_S:
        raise DrillError(_cannot_close(leg, air))
    return passage_s


def _radial_s(leg: Leg, begun: Path, air: Air) -> float:
    """Return when the needle of the leg's course centres, the flag showing FROM."""
    course = air.course(leg)
    side = 1.0 if course.across_nm(begun[0].start) > 0.0 else -1.0
    crossed_s = find_fall_flying_on(begun, lambda aircraft: side * course.across_nm(aircraft))
    if crossed_s is None or crossed_s > LONGEST_LEG_S:
        raise DrillError(_cannot_close(leg, air))
    if course.along_nm(clip(begun, crossed_s)[-1].end) <= 0.0:
        raise DrillError(_cannot_close(leg, air))
    return crossed_s


def _turn_deg(leg: Leg, aircraft: Aircraft, target_mag_deg: float) -> float:
    """Return the turn to a heading, the leg's way round; one made smaller by the wind may change its sign."""
    published = _SIGN[leg.turn] * leg.turn_deg
    return published + difference_deg(target_mag_deg, aircraft.heading_mag_deg + published)


def _cannot_close(leg: Leg, air: Air) -> Problem:
    got = f"one that never does, wind {render_wind(air.wind)} at {air.tas_kt:g} kt TAS"
    return Problem(where=_name(leg), expected=f"a leg that ends on {leg.ends_on}", got=got)


def _lacks(leg: Leg, what: str) -> Problem:
    return Problem(where=_name(leg), expected=what, got=f"none, and it ends on {leg.ends_on}")


def _name(leg: Leg) -> str:
    if leg.spoke is not None:
        return f"spoke {leg.spoke} {leg.leg}"
    return f"leg {leg.n} {leg.leg}" if leg.lap is None else f"lap {leg.lap} {leg.leg}"
