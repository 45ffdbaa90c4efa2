"""The marks of one leg: each a figure, its standard and the seconds it was made of.

Never scores what the track cannot show: no heading without one measured or estimated, no needle before the
course is established or in the cone, no altitude but its steadiness.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.debrief.flight import Flight
from coach.debrief.holding import score_held
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import Held, Mark, Standard
from coach.debrief.standards import (
    AIRSPEED,
    ALTITUDE,
    ARC,
    HEADING,
    HEADING_TRACKING,
    INTERCEPT,
    INTERCEPT_HIGH_DEG,
    INTERCEPT_LOW_DEG,
    LEG_TIME,
    LEG_TIME_FINER,
    REACTION,
    ROUNDING,
    TURN_RATE,
    is_within,
    needle_standard,
)
from coach.drill.model import Ending
from coach.drill.plan import Plan
from coach.fixes.track import Numbers
from coach.nav.angles import difference_deg
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.nav.vor import cone_radius_nm

ESTABLISHED_SHARE, ESTABLISHED_TRACK_DEG, ESTABLISHED_FOR_S = 0.5, 10.0, 2.0
"""Established: within half scale, the track within 10 degrees of the course, for two seconds
(`coach.session.checkpoints`)."""

OVERSHOOT_WITHIN_S = 90.0
"""So long after the last turn begins the needle's far side is looked for."""

SETTLES_S = 1.0
"""A heading is held from so long after the turn on: the fitted turn ends in the middle of the roll-out."""

AT_START_S = 30.0
"""Altitude and airspeed are held to what they were in the first half minute of the drill."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What legs are marked by."""

    flight: Flight
    plan: Plan
    full_scale_deg: float
    height_ft: float
    """Above the station: for the cone."""

    altitude: tuple[str, Numbers] | None
    """Which altitude the feed has, and it; None: none."""

    altitude_ft: float | None
    """At the start of the drill."""

    airspeed_kt: float | None

    def during(self, start_s: float, end_s: float) -> NDArray[np.int64]:
        """Return the indices of the fixes from one second to another."""
        time_s = self.flight.time_s
        first, last = np.searchsorted(time_s, (start_s - 1e-6, end_s + 1e-6))
        return np.arange(first, last)

    def off_course_deg(self, index: NDArray[np.int64], course_mag_deg: float) -> Numbers:
        """Return the needle without its stops, right positive (`coach.nav.vor.off_course_deg` for many)."""
        apart = (course_mag_deg - self.flight.radial_mag_deg[index] + 180.0) % 360.0 - 180.0
        return np.where(np.abs(apart) <= 90.0, apart, np.copysign(180.0 - np.abs(apart), apart))


def bench_of(flight: Flight, plan: Plan, *, full_scale_deg: float, height_ft: float, from_s: float) -> Bench:
    """Return the bench; `from_s` is when the drill begins on the track's clock."""
    track = flight.track
    named = (
        ("pressure altitude", track.pressure_altitude_ft),
        ("altitude", track.altitude_ft),
        ("height by satellite", track.geo_altitude_ft),
    )
    altitude = next(((name, values) for name, values in named if values is not None), None)
    start = (flight.time_s >= from_s) & (flight.time_s <= from_s + AT_START_S)
    return Bench(
        flight=flight,
        plan=plan,
        full_scale_deg=full_scale_deg,
        height_ft=height_ft,
        altitude=altitude,
        altitude_ft=None if altitude is None else _middle(altitude[1][start]),
        airspeed_kt=None if track.airspeed_kt is None else _middle(track.airspeed_kt[start]),
    )


def _middle(values: Numbers) -> float | None:
    good = values[np.isfinite(values)]
    return float(np.median(good)) if len(good) else None


def mark_leg(bench: Bench, laid: LegOnTrack, following: LegOnTrack | None) -> tuple[Mark, ...]:
    """Return the single figures of a leg."""
    if laid.how == "not on track":
        return ()
    return (
        *_turn_marks(bench, laid, following),
        *_time_marks(laid, following),
        *_intercept_marks(bench, laid),
        *_established_marks(bench, laid),
    )


def _turn_marks(bench: Bench, laid: LegOnTrack, following: LegOnTrack | None) -> Iterator[Mark]:
    turn = laid.turn
    goes_on = following is not None and following.is_fused
    if turn is None:
        return
    if not laid.is_after_intercept:
        late_s = turn.start_s - laid.begun_s
        reason = f"From the checkpoint to where a steady turn of the {turn.by} begins."
        yield _mark(
            "turn begins", late_s, "s", REACTION, reason, min(laid.begun_s, turn.start_s), turn.start_s
        )
    if turn.by != "track":
        reason = f"The {turn.by} over {abs(turn.turn_deg):.0f} degrees."
        yield Mark(
            what="turn rate",
            value=turn.rate_deg_s,
            unit="deg/s",
            standard=TURN_RATE,
            is_within=is_within(turn.rate_deg_s - STANDARD_RATE_DEG_S, TURN_RATE),
            reason=reason,
            start_s=turn.start_s,
            end_s=turn.end_s,
        )
    wanted = laid.leg.heading_mag_deg
    if turn.by != "track" and wanted is not None and not laid.leg.tracks and not goes_on:
        off_deg = difference_deg(turn.after_mag_deg, wanted)
        reason = f"The {turn.by} after the turn against {wanted:03d}."
        yield _mark("roll-out", off_deg, "deg", heading_standard(bench.plan), reason, turn.end_s, turn.end_s)


def _time_marks(laid: LegOnTrack, following: LegOnTrack | None) -> Iterator[Mark]:
    turn = None if following is None else following.turn
    if laid.due_s is None or laid.leg.ends_on is not Ending.TIME or turn is None:
        return
    off_s = turn.start_s - laid.due_s
    reason = f"The next turn begins that long after the {laid.leg.leg} leg's time was up."
    for what, standard in (("leg time", LEG_TIME), ("leg time, finer", LEG_TIME_FINER)):
        yield _mark(what, off_s, "s", standard, reason, laid.begun_s, turn.start_s)


def _intercept_marks(bench: Bench, laid: LegOnTrack) -> Iterator[Mark]:
    turn, course = laid.turn, laid.leg.course_mag_deg
    if turn is None or course is None or not laid.is_after_intercept:
        return
    angle_deg = abs(difference_deg(turn.before_mag_deg, course))
    is_good = INTERCEPT_LOW_DEG - ROUNDING <= angle_deg <= INTERCEPT_HIGH_DEG + ROUNDING
    yield Mark(
        what="intercept angle",
        value=angle_deg,
        unit="deg",
        standard=INTERCEPT,
        is_within=is_good,
        reason=f"The {turn.by} before the last turn against the course {course:03d}.",
        start_s=turn.start_s,
        end_s=turn.start_s,
    )
    index = bench.during(turn.start_s, min(laid.ended_s, turn.start_s + OVERSHOOT_WITHIN_S))
    if len(index) < 2:
        return
    needle = bench.off_course_deg(index, course)
    lead_deg = float(needle[0])
    reason = "How far the needle was from the centre when the last turn began."
    yield _mark("lead", abs(lead_deg), "deg", None, reason, turn.start_s, turn.start_s)
    side = np.sign(lead_deg) or 1.0
    outside = bench.flight.distance_nm[index] > cone_radius_nm(bench.height_ft)
    beyond = np.where(outside, -needle * side, -np.inf)
    at = int(np.argmax(beyond))
    over_deg = max(0.0, float(beyond[at])) if np.isfinite(beyond[at]) else 0.0
    reason = f"The farthest the needle went to the other side within {OVERSHOOT_WITHIN_S:.0f} s of that."
    time_s = bench.flight.time_s[index]
    standard = needle_standard(bench.full_scale_deg)
    yield _mark("overshoot", over_deg, "deg", standard, reason, turn.start_s, float(time_s[at]))


def _established_marks(bench: Bench, laid: LegOnTrack) -> Iterator[Mark]:
    if not laid.leg.tracks or laid.leg.ends_on is not Ending.PASSAGE or laid.entry.ended_s is None:
        return
    from_s = find_established(bench, laid)
    if from_s is not None:
        reason = "From established to passage: long in a headwind, short in a tailwind."
        yield _mark("established to passage", laid.ended_s - from_s, "s", None, reason, from_s, laid.ended_s)


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


def find_established(bench: Bench, laid: LegOnTrack) -> float | None:
    """Return when a leg's course was established; None where it never was."""
    course = laid.leg.course_mag_deg
    index = bench.during(laid.begun_s, laid.ended_s)
    if course is None or len(index) < 2:
        return None
    off_track = (bench.flight.track_mag_deg[index] - course + 180.0) % 360.0 - 180.0
    needle = np.abs(bench.off_course_deg(index, course))
    with np.errstate(invalid="ignore"):
        is_so = (needle <= ESTABLISHED_SHARE * bench.full_scale_deg) & (
            np.abs(off_track) <= ESTABLISHED_TRACK_DEG
        )
    is_so &= bench.flight.distance_nm[index] > cone_radius_nm(bench.height_ft)
    time_s = bench.flight.time_s[index]
    since_s: float | None = None
    for at_s, so in zip(time_s.tolist(), is_so.tolist(), strict=True):
        since_s = (at_s if since_s is None else since_s) if so else None
        if since_s is not None and at_s - since_s >= ESTABLISHED_FOR_S:
            return since_s
    return None


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


def heading_standard(plan: Plan) -> Standard:
    """Return 5 degrees for a drill that tracks courses, 10 for a holding pattern and all else (A6)."""
    tracks = plan.drill.entry is None and any(planned.leg.tracks for planned in plan.legs)
    return HEADING_TRACKING if tracks else HEADING


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


def _mark(
    what: str,
    value: float,
    unit: str,
    standard: Standard | None,
    reason: str,
    start_s: float,
    end_s: float,
) -> Mark:
    """A figure whose aim is 0."""
    return Mark(
        what=what,
        value=value,
        unit=unit,
        standard=standard,
        is_within=None if standard is None else is_within(value, standard),
        reason=reason,
        start_s=start_s,
        end_s=end_s,
    )
