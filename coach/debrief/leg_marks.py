"""The single figures of a leg: its turn, its time, its intercept, each with the seconds it was made of.

Never scores what the track cannot show: no turn rate but of a heading, measured or estimated.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from coach.debrief.leg_bench import Bench, bench_of, find_established, heading_standard
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import Mark, Standard
from coach.debrief.standards import (
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
from coach.nav.angles import difference_deg
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.nav.vor import cone_radius_nm

__all__ = ["Bench", "bench_of", "mark_leg"]

GOES_THROUGH_DEG = 20.0
"""A turn to an intercept that goes on so far beyond its heading goes through the course and on to a cut back
(20 degrees: FAA-H-8083-15A p. 7-14): it has no roll-out to be marked."""

MOST_INTERCEPT_DEG = 90.0
"""A heading farther off the course than this leads away from it: what follows is a cut back, no intercept."""

OVERSHOOT_WITHIN_S = 90.0
"""So long after the last turn begins the needle's far side is looked for."""


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
        if laid.leg.ends_on is Ending.INTERCEPT and off_deg * np.sign(turn.turn_deg) > GOES_THROUGH_DEG:
            return
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
    if angle_deg > MOST_INTERCEPT_DEG:
        return
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
