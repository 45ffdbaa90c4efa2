"""How a leg was held: needle, heading, arc, altitude and airspeed over its seconds.

Never scores a needle before the course is established or in the cone, a heading that nobody measured or
estimated, an altitude but by its steadiness.
"""

from __future__ import annotations

import numpy as np

from coach.debrief.holding import score_held
from coach.debrief.leg_bench import Bench, find_established, heading_standard
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import Held
from coach.debrief.standards import AIRSPEED, ALTITUDE, ARC, needle_standard
from coach.nav.vor import cone_radius_nm

SETTLES_S = 1.0
"""A heading is held from so long after the turn on: the fitted turn ends in the middle of the roll-out."""


def hold_leg(bench: Bench, laid: LegOnTrack, following: LegOnTrack | None) -> tuple[Held, ...]:
    """Return how needle, heading, arc, altitude and airspeed were held on a leg."""
    if laid.how == "not on track":
        return ()
    end_s = laid.ended_s
    if following is not None and following.turn is not None:
        end_s = min(end_s, following.turn.start_s)
    found = (
        _hold_needle(bench, laid, end_s),
        _hold_heading(bench, laid, end_s),
        _hold_arc(bench, laid, end_s),
        _hold_altitude(bench, laid),
        _hold_airspeed(bench, laid),
    )
    return tuple(held for held in found if held is not None)


def _hold_needle(bench: Bench, laid: LegOnTrack, end_s: float) -> Held | None:
    course = laid.leg.course_mag_deg
    if not laid.leg.tracks or course is None:
        return None
    from_s = find_established(bench, laid)
    if from_s is None:
        return None
    index = bench.during(from_s, end_s)
    needle = bench.off_course_deg(index, course)
    in_cone = bench.flight.distance_nm[index] <= cone_radius_nm(bench.height_ft)
    reason = f"Course {course:03d}, from established to the end of the leg, the cone left out."
    standard = needle_standard(bench.full_scale_deg)
    needle = np.where(in_cone, np.nan, needle)
    return score_held("needle", bench.flight.time_s[index], needle, standard, reason=reason)


def _hold_heading(bench: Bench, laid: LegOnTrack, end_s: float) -> Held | None:
    leg, flight = laid.leg, bench.flight
    if leg.tracks or leg.arc_nm is not None or leg.heading_mag_deg is None or flight.heading_mag_deg is None:
        return None
    # Smoothed directions near a turn are still, or already, those of the turn.
    index = bench.during(laid.level_s + flight.smoothed_s + SETTLES_S, end_s - flight.smoothed_s)
    off = (flight.heading_mag_deg[index] - leg.heading_mag_deg + 180.0) % 360.0 - 180.0
    reason = f"The {flight.heading_by} from wings level to the next turn, against {leg.heading_mag_deg:03d}."
    aim = float(leg.heading_mag_deg)
    return score_held(
        "heading", flight.time_s[index], off, heading_standard(bench.plan), reason=reason, aim=aim
    )


def _hold_arc(bench: Bench, laid: LegOnTrack, end_s: float) -> Held | None:
    arc_nm = laid.leg.arc_nm
    if arc_nm is None:
        return None
    index = bench.during(laid.level_s, end_s)
    off = bench.flight.distance_nm[index] - arc_nm
    reason = f"Distance over the ground against {arc_nm:g} NM, from the end of the turn onto the arc."
    return score_held("arc", bench.flight.time_s[index], off, ARC, reason=reason, aim=arc_nm)


def _hold_altitude(bench: Bench, laid: LegOnTrack) -> Held | None:
    changes = any(planned.leg.climb_ft is not None for planned in bench.plan.legs)
    if bench.altitude is None or bench.altitude_ft is None or changes:
        return None
    name, values = bench.altitude
    index = bench.during(laid.begun_s, laid.ended_s)
    reason = f"The {name} against what it was at the start of the drill: its steadiness, not the altimeter."
    off = values[index] - bench.altitude_ft
    return score_held(
        "altitude", bench.flight.time_s[index], off, ALTITUDE, reason=reason, aim=bench.altitude_ft
    )


def _hold_airspeed(bench: Bench, laid: LegOnTrack) -> Held | None:
    values = bench.flight.track.airspeed_kt
    if values is None or bench.airspeed_kt is None:
        return None
    index = bench.during(laid.begun_s, laid.ended_s)
    off = values[index] - bench.airspeed_kt
    reason = "The feed's airspeed against what it was at the start of the drill."
    return score_held(
        "airspeed", bench.flight.time_s[index], off, AIRSPEED, reason=reason, aim=bench.airspeed_kt
    )
