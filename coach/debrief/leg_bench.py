"""What every leg is marked by: flight, plan, the receiver's scale, what was to be held from the start.

Never scores anything itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.debrief.flight import Flight
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import Standard
from coach.debrief.standards import HEADING, HEADING_TRACKING
from coach.drill.plan import Plan
from coach.fixes.track import Numbers
from coach.nav.vor import cone_radius_nm

ESTABLISHED_SHARE, ESTABLISHED_TRACK_DEG, ESTABLISHED_FOR_S = 0.5, 10.0, 2.0
"""Established: within half scale, the track within 10 degrees of the course, for two seconds
(`coach.session.checkpoints`)."""

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


def heading_standard(plan: Plan) -> Standard:
    """Return 5 degrees for a drill that tracks courses, 10 for a holding pattern and all else (A6)."""
    tracks = plan.drill.entry is None and any(planned.leg.tracks for planned in plan.legs)
    return HEADING_TRACKING if tracks else HEADING
