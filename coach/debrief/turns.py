"""The turns of a flight: when each begins and ends, how far and how fast.

Never takes an arc or a small correction for a turn. What turns is the heading where there is one, measured
or estimated, else the track, and each turn says which: in wind a track turns unevenly, and its rate is not
the heading's. With 3 m of noise in each fix of a 1 Hz receiver without speed a turn of 45 degrees at 3
degrees a second is found to begin within 0.4 s of the truth and to turn within 0.14 of its rate in 95
of 100 (simulated); at 10 Hz within 0.12 s and 0.04.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from coach.debrief.filtering import interval_s, slope
from coach.debrief.flight import SLOWEST_KT, Flight
from coach.debrief.model import TurnFlown
from coach.debrief.ramp import Ramp, fit_ramp
from coach.fixes.track import Numbers
from coach.nav.angles import wrap_deg
from coach.nav.turn import rate_deg_s

TURNING_DEG_S = 1.0
"""A third of standard rate; slower is no turn (`coach.session.motion.LEVEL_DEG_S` has the same)."""

SMALLEST_TURN_DEG = 15.0
"""A smaller change of heading is a correction; our own choice (the smallest turn of a drill is 20
degrees)."""

PAUSE_S, PAUSE_FIXES = 4.0, 2.5
"""A turn that stops for less goes on; where fixes are seldom, for less than so many of their intervals."""

STEEPEST_DEG = 60.0
"""A fit that would need more bank than this is none: jittering fixes make a corner."""

LEVEL_FOR_S = 10.0
"""So much before and after belongs to the fit, as far as no other turn is in it."""

RATE_HALF_S = 2.0
FINEST_S = 0.2
"""Fixes that follow closer add nothing to the fit."""

Span = tuple[float, float]


def find_turns(flight: Flight) -> tuple[TurnFlown, ...]:
    """Return the turns in order; none across a gap."""
    found: list[TurnFlown] = []
    for stretch in flight.stretches:
        found += _in_stretch(flight, stretch)
    return tuple(found)


def _in_stretch(flight: Flight, stretch: slice) -> Iterator[TurnFlown]:
    time_s, angle_deg = _unwrapped(flight, stretch)
    if len(time_s) < 5:
        return
    smoothed_s = flight.smoothed_s
    smoothing = smoothed_s, max(1, round(smoothed_s / interval_s(flight.time_s[stretch])))
    spans = _spans(time_s, angle_deg)
    for i, (start_s, end_s) in enumerate(spans):
        reach_s = LEVEL_FOR_S + smoothed_s
        earliest_s = max(start_s - reach_s, spans[i - 1][1] if i else -np.inf)
        latest_s = min(end_s + reach_s, spans[i + 1][0] if i + 1 < len(spans) else np.inf)
        first, last = np.searchsorted(time_s, (earliest_s, latest_s + 1e-9))
        ramp = fit_ramp(
            time_s[first:last], angle_deg[first:last], start_s=start_s, end_s=end_s, smoothing=smoothing
        )
        if ramp is None or not _is_flown(ramp, flight, earliest_s, latest_s):
            ramp = _plain(time_s, angle_deg, start_s, end_s)
        if abs(ramp.turn_deg) >= SMALLEST_TURN_DEG and abs(ramp.rate_deg_s) >= TURNING_DEG_S * 0.8:
            yield _turn(ramp, flight)


def _unwrapped(flight: Flight, stretch: slice) -> tuple[Numbers, Numbers]:
    """Times and directions of one stretch, thinned, holes left out, going on through north."""
    time_s, angle_deg = flight.time_s[stretch], flight.direction_mag_deg[stretch]
    good = np.isfinite(angle_deg)
    time_s, angle_deg = time_s[good], angle_deg[good]
    every = max(1, int(FINEST_S / interval_s(time_s) + 1e-6)) if len(time_s) > 1 else 1
    return time_s[::every], np.degrees(np.unwrap(np.radians(angle_deg[::every])))


def _spans(time_s: Numbers, angle_deg: Numbers) -> list[Span]:
    """Where it turns one way, from the first moment to the last."""
    rate = slope(time_s, angle_deg, RATE_HALF_S)
    side = np.where(np.abs(rate) >= TURNING_DEG_S, np.sign(rate), 0.0)
    cuts = np.flatnonzero(np.diff(side)) + 1
    bounds = [0, *cuts.tolist(), len(side)]
    runs = [(begin, end - 1) for begin, end in pairwise(bounds) if side[begin]]
    pause_s = max(PAUSE_S, PAUSE_FIXES * interval_s(time_s))
    joined: list[tuple[int, int]] = []
    for begin, end in runs:
        if joined and side[joined[-1][1]] == side[begin] and time_s[begin] - time_s[joined[-1][1]] < pause_s:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((begin, end))
    return [
        (float(time_s[max(0, begin - 1)]), float(time_s[min(len(time_s) - 1, end + 1)]))
        for begin, end in joined
        if abs(angle_deg[min(len(time_s) - 1, end + 1)] - angle_deg[max(0, begin - 1)])
        >= SMALLEST_TURN_DEG * 0.6
    ]


def _is_flown(ramp: Ramp, flight: Flight, earliest_s: float, latest_s: float) -> bool:
    """Whether an aircraft can have flown it, where it was looked for."""
    if not earliest_s - 5.0 <= ramp.start_s < ramp.end_s <= latest_s + 5.0:
        return False
    i = min(int(np.searchsorted(flight.time_s, ramp.start_s)), len(flight.time_s) - 1)
    speed_kt = max(SLOWEST_KT, float(np.nan_to_num(flight.ground_speed_kt[i])))
    return abs(ramp.rate_deg_s) <= rate_deg_s(speed_kt, STEEPEST_DEG)


def _plain(time_s: Numbers, angle_deg: Numbers, start_s: float, end_s: float) -> Ramp:
    """From where it turns to where it no more does, evenly: for fixes that no steady turn fits."""
    before, after = np.interp((start_s, end_s), time_s, angle_deg).tolist()
    rate = (after - before) / (end_s - start_s)
    return Ramp(before_deg=before, rate_deg_s=rate, start_s=start_s, end_s=end_s, rms_deg=float("nan"))


def _turn(ramp: Ramp, flight: Flight) -> TurnFlown:
    return TurnFlown(
        start_s=ramp.start_s,
        end_s=ramp.end_s,
        turn_deg=ramp.turn_deg,
        rate_deg_s=abs(ramp.rate_deg_s),
        before_mag_deg=wrap_deg(ramp.before_deg),
        after_mag_deg=wrap_deg(ramp.before_deg + ramp.turn_deg),
        by=flight.direction_by,
    )
