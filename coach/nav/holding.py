"""A holding pattern: the entry by sector, the times, and the wind corrected lap by lap.

Never uses terrain, protected airspace or a clearance: the chart and ATC come first. Sources: AIM 5-3-8j; the
sectors of 110 and 180 degrees beside the 70-degree line from its figure (values from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from coach.errors import DrillError, Problem
from coach.nav.aircraft import over_station
from coach.nav.angles import difference_deg, direction_deg, reciprocal_deg, right_turn_deg, wrap_deg
from coach.nav.course import Course, course_in_wind
from coach.nav.path import Path, duration_s, find_fall, straight, turning
from coach.nav.thumb import Thumb
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.nav.wind import Wind, render_wind, solve_triangle

TOLERANCE_DEG = 5.0
"""Within this of a sector's line either entry may be flown (AIM 5-3-8j8)."""

TEARDROP_FROM_DEG, PARALLEL_FROM_DEG, PARALLEL_TO_DEG = 110.0, 180.0, 290.0
"""Heading less inbound course, right turns: teardrop up to 180, parallel up to 290, direct otherwise."""

TEARDROP_DEG = 30.0
"""From the outbound course, on the holding side (AIM 5-3-8j3)."""

HIGH_FROM_FT = 14_000
LOW_INBOUND_S, HIGH_INBOUND_S = 60.0, 90.0
"""At or below `HIGH_FROM_FT`, and above it (AIM 5-3-8j4)."""

TRIPLE = 3.0
"""Times the inbound drift correction, the other way outbound (AIM 5-3-8j8)."""

MOST_OUTBOUND_OFF_DEG = 90.0
"""An outbound heading farther off its course than this leads back: no hold is flown in such a wind."""


class Entry(StrEnum):
    """How a hold is entered."""

    DIRECT = "direct"
    PARALLEL = "parallel"
    TEARDROP = "teardrop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A hold at a fix."""

    inbound_mag_deg: float
    """The course flown to the fix, 1-360."""

    is_right: bool = True
    """Standard turns are to the right."""

    @property
    def outbound_mag_deg(self) -> float:
        """The course flown away from the fix in nil wind."""
        return reciprocal_deg(self.inbound_mag_deg)

    @property
    def side(self) -> float:
        """1 where the turns are to the right, -1 where they are to the left."""
        return 1.0 if self.is_right else -1.0

    def sector_deg(self, heading_mag_deg: float) -> float:
        """Return the heading less the inbound course, 0 up to but not 360; leftward for left turns."""
        turned = right_turn_deg(self.inbound_mag_deg, heading_mag_deg)
        return turned if self.is_right else (360.0 - turned) % 360.0

    def entry(self, heading_mag_deg: float) -> Entry:
        """Return the entry for a heading at the fix; on the line itself the one that comes before it."""
        return _entry(self.sector_deg(heading_mag_deg))

    def entries(self, heading_mag_deg: float) -> tuple[Entry, ...]:
        """Return every entry that may be flown, the sector's own first: two within 5 degrees of a line."""
        sector = self.sector_deg(heading_mag_deg)
        beside = (_entry((sector + off) % 360.0) for off in (-TOLERANCE_DEG, TOLERANCE_DEG))
        return tuple(dict.fromkeys((_entry(sector), *beside)))

    def entry_heading_mag_deg(self, entry: Entry) -> float:
        """Return the heading out from the fix in nil wind: a teardrop's is 30 degrees to the holding side."""
        toward_deg = -self.side * TEARDROP_DEG if entry is Entry.TEARDROP else 0.0
        return wrap_deg(self.outbound_mag_deg + toward_deg)

    def entry_turn_is_right(self, entry: Entry) -> bool:
        """Return which way the entry turns back inbound: a parallel entry turns against the hold."""
        return self.is_right is not (entry is Entry.PARALLEL)


def _entry(sector_deg: float) -> Entry:
    if TEARDROP_FROM_DEG < sector_deg <= PARALLEL_FROM_DEG:
        return Entry.TEARDROP
    return Entry.PARALLEL if PARALLEL_FROM_DEG < sector_deg < PARALLEL_TO_DEG else Entry.DIRECT


def inbound_time_s(altitude_ft: float) -> float:
    """Return how long the inbound leg is to last, by altitude above sea level."""
    return LOW_INBOUND_S if altitude_ft <= HIGH_FROM_FT else HIGH_INBOUND_S


def timer_from_s(*, over_s: float, abeam_s: float | None, level_s: float) -> float:
    """Return when the outbound time begins: over or abeam the fix, whichever is later.

    Where abeam is not known (None): when the turn to outbound is complete (AIM 5-3-8j4).
    """
    return level_s if abeam_s is None else max(over_s, abeam_s)


def triple_drift_deg(inbound_correction_deg: float) -> float:
    """Return the correction outbound for one inbound, right positive: 8 left in, 24 right out."""
    return -TRIPLE * inbound_correction_deg


@dataclass(frozen=True, slots=True, kw_only=True)
class Lap:
    """One time round the hold in a steady wind that ends on the inbound course for exactly so long."""

    hold: Hold
    inbound: Course
    """With the heading that holds it."""

    inbound_s: float
    outbound_heading_mag_deg: float
    """Not rounded."""

    outbound_s: float
    """Straight, from wings level to the turn inbound; 0 or more."""

    timed_s: float
    """From abeam the fix, or over it where that is later, to the turn inbound."""

    path: Path
    """From over the fix to over the fix."""

    @property
    def correction_deg(self) -> Thumb:
        """The outbound correction, right positive: triple drift, and what is exact."""
        inbound_deg = difference_deg(self.inbound.heading_mag_deg, self.inbound.course_mag_deg)
        exact = difference_deg(self.outbound_heading_mag_deg, self.hold.outbound_mag_deg)
        return Thumb(rule=triple_drift_deg(inbound_deg), exact=exact)

    @property
    def lap_s(self) -> float:
        """The whole time round."""
        return duration_s(self.path)


def solve_lap(
    hold: Hold,
    *,
    tas_kt: float,
    wind: Wind,
    inbound_s: float = LOW_INBOUND_S,
    rate_deg_s: float = STANDARD_RATE_DEG_S,
) -> Lap:
    """Return the lap whose inbound leg lasts as wished, the wind counted from magnetic north.

    Both turns together are a whole circle, so in the air they lead nowhere: the outbound leg makes good what
    the inbound leg and the drift of two turns leave. Raises DrillError where no outbound leg does.
    """
    inbound = course_in_wind(hold.inbound_mag_deg, tas_kt, wind)
    turns_s = 360.0 / rate_deg_s
    angle = math.radians(hold.inbound_mag_deg)
    inbound_nm = inbound.ground_speed_kt * inbound_s / 3600.0
    east_nm = -inbound_nm * math.sin(angle) - wind.east_kt * turns_s / 3600.0
    north_nm = -inbound_nm * math.cos(angle) - wind.north_kt * turns_s / 3600.0
    outbound = solve_triangle(direction_deg(east_nm, north_nm), tas_kt, wind)
    if abs(difference_deg(outbound.heading_deg, hold.outbound_mag_deg)) > MOST_OUTBOUND_OFF_DEG:
        expected = f"a wind in which {inbound_s:g} s inbound leave room for an outbound leg"
        raise DrillError(Problem(where="wind", expected=expected, got=render_wind(wind)))
    outbound_s = math.hypot(east_nm, north_nm) / outbound.ground_speed_kt * 3600.0
    path = _lap_path(hold, inbound, outbound.heading_deg, outbound_s, inbound_s, tas_kt, wind, rate_deg_s)
    return Lap(
        hold=hold,
        inbound=inbound,
        inbound_s=inbound_s,
        outbound_heading_mag_deg=outbound.heading_deg,
        outbound_s=outbound_s,
        timed_s=_timed_s(inbound, path),
        path=path,
    )


def _lap_path(
    hold: Hold,
    inbound: Course,
    outbound_mag_deg: float,
    outbound_s: float,
    inbound_s: float,
    tas_kt: float,
    wind: Wind,
    rate_deg_s: float,
) -> Path:
    turned = right_turn_deg(inbound.heading_mag_deg, outbound_mag_deg)
    out_deg = turned if hold.is_right else 360.0 - turned
    start = over_station(inbound.heading_mag_deg, tas_kt, wind, rate_deg_s)
    first = turning(start, hold.side * out_deg)
    out = straight(first.end, outbound_s)
    second = turning(out.end, hold.side * (360.0 - out_deg))
    return (first, out, second, straight(second.end, inbound_s))


def _timed_s(inbound: Course, path: Path) -> float:
    """From abeam the fix to the turn inbound; from over it where the wind holds the aircraft beyond abeam."""
    out = path[:2]
    # It begins over the fix and goes beyond it at first: a lap that never does is timed from over the fix.
    abeam_s = find_fall(out, inbound.along_nm)
    return duration_s(out) - (abeam_s or 0.0)


def next_outbound_s(outbound_s: float, inbound_s: float, *, wanted_s: float = LOW_INBOUND_S) -> Thumb:
    """Return the next straight outbound time from one lap's times: corrected by the inbound time flown.

    The rule (common practice, no source) adds what the inbound leg lacked. Exact for a wind along the course
    and turns of two minutes in all: the two times of one lap give the wind, whatever the speed. 0 or more.
    """
    turns_s = 360.0 / STANDARD_RATE_DEG_S
    head = (inbound_s - outbound_s) / (inbound_s + turns_s + outbound_s)
    exact = ((1.0 - head) * wanted_s - head * turns_s) / (1.0 + head)
    return Thumb(rule=max(0.0, outbound_s + wanted_s - inbound_s), exact=max(0.0, exact))
