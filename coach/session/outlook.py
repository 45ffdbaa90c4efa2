"""What a feed shows at one fix, as the watches for checkpoints and the track calls look at it.

Never decides anything: it works out radial, needle, track and heading for the leg that is flown.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from coach.drill.model import Leg
from coach.drill.plan import Plan
from coach.nav.angles import difference_deg
from coach.nav.station import Station
from coach.nav.vor import FULL_SCALE_DEG, Reading, off_course_deg, receive
from coach.nav.wind import Wind
from coach.session.motion import Motion, MotionWatch, find_heading
from coach.session.progress import Progress, leg_of


class Role(StrEnum):
    """What the feed may do."""

    DECIDE = "decide"
    """A checkpoint that the feed sees moves the drill as the pilot's word does."""

    REMIND = "remind"
    """Only the pilot's word moves the drill; a passage not said is reminded of."""

    RECORD = "record"
    """What the feed sees goes into the journal; nothing is said or moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedUse:
    """How a session uses its feed."""

    station: Station
    role: Role = Role.DECIDE
    height_ft: float = 2000.0
    """Of the aircraft above the station, for the cone of ambiguity."""

    full_scale_deg: float = FULL_SCALE_DEG
    dots: int = 5
    """Dots a side on the needle's scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """One fix and what is known when it comes."""

    plan: Plan
    progress: Progress
    use: FeedUse
    motion: Motion
    motions: MotionWatch
    wind: Wind | None
    """As estimated; None: not yet known."""

    bearing_error_deg: float = 0.0
    """What the pilot's needle taught: his receiver shows the radial and this. On a course to the station it
    moves the needle the other way than on one from it."""

    @property
    def leg(self) -> Leg:
        """The present leg."""
        return leg_of(self.plan, self.progress)

    def reading(self, course_mag_deg: float) -> Reading:
        """What a perfect receiver shows."""
        return receive(
            self.motion.east_nm,
            self.motion.north_nm,
            course_mag_deg=course_mag_deg,
            height_ft=self.use.height_ft,
            full_scale_deg=self.use.full_scale_deg,
        )

    def needle_deg(self, course_mag_deg: float, motion: Motion | None = None) -> float:
        """Where the pilot's needle stands, by what it taught, without its stops; right positive."""
        there = motion or self.motion
        return off_course_deg(there.radial_mag_deg + self.bearing_error_deg, course_mag_deg)

    def needle_rate_deg_s(self, course_mag_deg: float) -> float:
        """How fast the needle moves, right positive; beyond the stop as if there were none."""
        return self.motions.find_rate(lambda motion: self.needle_deg(course_mag_deg, motion))

    def find_heading(self) -> float | None:
        """The heading, measured or estimated; None where only the track is known."""
        return find_heading(self.motion, self.wind)

    def pointing_deg(self, motion: Motion | None = None) -> float | None:
        """The heading, measured or estimated; else the track."""
        there = motion or self.motion
        heading_deg = find_heading(there, self.wind)
        return there.track_mag_deg if heading_deg is None else heading_deg

    def turned_deg(self, begun: Motion | None) -> float | None:
        """How far the aircraft points from where it pointed then, 0 to 180; None where nothing tells."""
        now_deg = self.pointing_deg()
        begun_deg = None if begun is None else self.pointing_deg(begun)
        if now_deg is None or begun_deg is None:
            return None
        return abs(difference_deg(now_deg, begun_deg))

    def level_for_s(self) -> float:
        """How long the wings have been level; 0 in a turn."""
        since_s = self.motions.level_since_s
        return 0.0 if since_s is None else max(0.0, self.motion.at_s - since_s)

    def passage_in_s(self, course_mag_deg: float) -> float | None:
        """Seconds to abeam the station along the course; None where the aircraft does not fly along it."""
        speed_kt, track_deg = self.motion.ground_speed_kt, self.motion.track_mag_deg
        if speed_kt is None or track_deg is None:
            return None
        along_kt = speed_kt * math.cos(math.radians(difference_deg(track_deg, course_mag_deg)))
        return self.reading(course_mag_deg).to_go_nm / along_kt * 3600.0 if along_kt > 0.0 else None
