"""How the aircraft moves, fix by fix: place from the station, track, speed, heading, rate of turn.

Never takes a track for a heading: where none is measured the heading is worked out from an estimated wind, or
not at all. All directions are of the station's magnetic rose; a compass heading is taken as of the same rose.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from coach.fixes.fix import Fix
from coach.nav.angles import difference_deg, direction_deg
from coach.nav.station import Station
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.nav.wind import Wind

CLOSEST_S = 0.19
"""Fixes that follow closer are left out: five a second show all that matters; our own choice."""

REMEMBERED_S = 60.0

RATE_OVER_S = 2.5
"""The rate of turn is measured over at least so long, as far as the fixes allow; our own choice."""

LONGEST_RATE_S = 15.0
"""Across a longer gap between fixes nothing is known of turns."""

LEVEL_DEG_S = 1.0
"""Turning slower than this the wings are taken for level: a third of standard rate; our own choice."""

SLOWEST_KT = 15.0
"""Below this ground speed a track says nothing."""

MADE_GOOD_OVER_S = 4.0
"""Where the feed gives no track or speed, they are taken from positions so far apart."""

DATED_OVER = 60
LARGEST_DELAY_S = 3.0
"""A fix is never taken for older than this by its own clock; our own choice."""

DAY_S = 86_400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """One fix, seen from the station."""

    at_s: float
    """When the aircraft was there, on the session clock, as well as known."""

    east_nm: float
    north_nm: float
    track_mag_deg: float | None
    """Over the ground, above 0 up to 360; None where it hardly moves or nothing tells."""

    ground_speed_kt: float | None
    heading_mag_deg: float | None
    """As measured; None where the feed has no heading."""

    airspeed_kt: float | None

    @property
    def distance_nm(self) -> float:
        """Over the ground from the station."""
        return math.hypot(self.east_nm, self.north_nm)

    @property
    def radial_mag_deg(self) -> float:
        """The radial it is on, above 0 up to 360."""
        return direction_deg(self.east_nm, self.north_nm)


class FixClock:
    """When a fix was true: fixes arrive unevenly late, and their own clock tells by how much more."""

    def __init__(self) -> None:
        self._late_s: deque[float] = deque(maxlen=DATED_OVER)
        self._first_s: float | None = None

    def date(self, fix: Fix) -> float:
        """Return the instant of a fix on the session clock; of one without a time, when it arrived.

        GDL 90 has whole seconds only: no time of a fix.
        """
        if fix.utc_of_day_s is None or fix.source == "gdl90":
            return fix.at_s
        apart_s = fix.at_s - fix.utc_of_day_s
        if self._first_s is None:
            self._first_s = apart_s
        # Counted from the first one, so that midnight changes nothing.
        self._late_s.append((apart_s - self._first_s + DAY_S / 2) % DAY_S - DAY_S / 2)
        late_s = self._late_s[-1] - min(self._late_s)
        return fix.at_s - late_s if late_s <= LARGEST_DELAY_S else fix.at_s


class MotionWatch:
    """Follows the fixes and remembers a minute of them."""

    def __init__(self, station: Station) -> None:
        self._station = station
        self._clock = FixClock()
        self._kept: deque[Motion] = deque()
        self._level_since_s: float | None = None

    def take(self, fix: Fix) -> Motion | None:
        """Return the motion that a fix shows; None for one too close after the last, or before it."""
        at_s = self._clock.date(fix)
        if self._kept and at_s - self._kept[-1].at_s < CLOSEST_S:
            return None
        motion = self._motion_of(fix, at_s)
        self._kept.append(motion)
        while at_s - self._kept[0].at_s > REMEMBERED_S:
            self._kept.popleft()
        self._follow_turn()
        return motion

    def forget(self) -> None:
        """The feed was lost: what was flown meanwhile is not known."""
        self._kept.clear()
        self._level_since_s = None

    @property
    def last(self) -> Motion | None:
        """The newest one."""
        return self._kept[-1] if self._kept else None

    @property
    def level_since_s(self) -> float | None:
        """Since when the wings are level; None in a turn, or where nothing tells."""
        return self._level_since_s

    def find_at(self, at_s: float) -> Motion | None:
        """The motion at a time gone by: the one nearest to it."""
        return min(self._kept, key=lambda motion: abs(motion.at_s - at_s), default=None)

    def find_rate(self, measure: Callable[[Motion], float]) -> float:
        """How fast something changes, per second, over the last moments; 0 while nothing tells."""
        now, before = self.last, self._before()
        if now is None or before is None:
            return 0.0
        return (measure(now) - measure(before)) / (now.at_s - before.at_s)

    def _motion_of(self, fix: Fix, at_s: float) -> Motion:
        east_nm, north_nm = self._station.place(fix.lat_deg, fix.lon_deg)
        track_deg, speed_kt = self._velocity(fix, at_s, east_nm, north_nm)
        heading_deg = fix.heading_mag_deg
        if heading_deg is None and fix.heading_true_deg is not None:
            heading_deg = self._station.as_magnetic(fix.heading_true_deg)
        return Motion(
            at_s=at_s,
            east_nm=east_nm,
            north_nm=north_nm,
            track_mag_deg=track_deg if speed_kt is None or speed_kt >= SLOWEST_KT else None,
            ground_speed_kt=speed_kt,
            heading_mag_deg=heading_deg,
            airspeed_kt=fix.airspeed_kt,
        )

    def _velocity(
        self, fix: Fix, at_s: float, east_nm: float, north_nm: float
    ) -> tuple[float | None, float | None]:
        """Track and ground speed as given, else from positions."""
        if fix.track_true_deg is not None and fix.ground_speed_kt is not None:
            return self._station.as_magnetic(fix.track_true_deg), fix.ground_speed_kt
        before = next((m for m in reversed(self._kept) if at_s - m.at_s >= MADE_GOOD_OVER_S), None)
        if before is None or at_s - before.at_s > LONGEST_RATE_S:
            return None, None
        east, north = east_nm - before.east_nm, north_nm - before.north_nm
        track_deg = direction_deg(east, north)
        return track_deg, math.hypot(east, north) / (at_s - before.at_s) * 3600.0

    def _before(self) -> Motion | None:
        """The motion that rates are measured against."""
        now = self._kept[-1] if self._kept else None
        if now is None:
            return None
        before = next((m for m in reversed(self._kept) if now.at_s - m.at_s >= RATE_OVER_S), None)
        return before if before is not None and now.at_s - before.at_s <= LONGEST_RATE_S else None

    def _follow_turn(self) -> None:
        """Since when level: the turn ended where standard rate would have used up what was turned."""
        now, before = self._kept[-1], self._before()
        if before is None:
            return
        turned_deg = _turned_deg(before, now)
        over_s = now.at_s - before.at_s
        if turned_deg is None or abs(turned_deg) >= LEVEL_DEG_S * over_s:
            self._level_since_s = None
        elif self._level_since_s is None:
            self._level_since_s = before.at_s + abs(turned_deg) / STANDARD_RATE_DEG_S


def _turned_deg(before: Motion, now: Motion) -> float | None:
    """By the heading where it is measured, else by the track."""
    if before.heading_mag_deg is not None and now.heading_mag_deg is not None:
        return difference_deg(now.heading_mag_deg, before.heading_mag_deg)
    if before.track_mag_deg is not None and now.track_mag_deg is not None:
        return difference_deg(now.track_mag_deg, before.track_mag_deg)
    return None


def find_heading(motion: Motion, wind: Wind | None) -> float | None:
    """The heading as measured, else as the wind makes it out of track and ground speed; None: not known."""
    if motion.heading_mag_deg is not None:
        return motion.heading_mag_deg
    if wind is None or motion.track_mag_deg is None or motion.ground_speed_kt is None:
        return None
    track = math.radians(motion.track_mag_deg)
    east_kt = motion.ground_speed_kt * math.sin(track) - wind.east_kt
    north_kt = motion.ground_speed_kt * math.cos(track) - wind.north_kt
    return direction_deg(east_kt, north_kt)
