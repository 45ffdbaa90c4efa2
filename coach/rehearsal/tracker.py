"""How a pilot tracks a radial by the needle: a cut toward it, halved as it comes in, and the wind learnt.

Never knows where the station is or what wind blows: the wind is what the needle teaches, leg after leg.
"""

from __future__ import annotations

import math

from coach.nav.angles import difference_deg, wrap_deg
from coach.rehearsal.needle import Needle

CUT_PER_DEG = 4.0
"""Degrees of cut for a degree of needle: 20 at half scale, less as it comes in (after P10's 20, 10, 5)."""

FIRST_CUT_DEG = 20.0
"""The first cut toward the needle (Instrument Flying Handbook FAA-H-8083-15A p. 7-14)."""

LARGEST_CUT_DEG = 40.0
"""Where the first cut does not bring the needle in, more is taken, up to this (our own choice)."""

PATIENCE_S = 8.0
"""So long on the cut before more is taken (our own choice)."""

ON_CUT_DEG = 5.0
"""While he still turns onto the cut the needle tells nothing about it."""

MORE_CUT_DEG_S = 1.0
"""How fast the cut grows while the needle stays out."""

AHEAD_S = 6.0
"""The pilot steers for where the needle will be: the time a turn of 20 degrees takes."""

LEARN_PER_S = 0.1
"""Degrees of wind correction learnt in a second from a degree of needle."""

LEARN_WITHIN_DEG = 5.0
"""Beyond half scale the needle tells of the intercept, not of the wind."""

LARGEST_CORRECTION_DEG = 25.0

ON_COURSE_DEG = 2.0
STEADY_DEG_S = 0.15
"""Within this the heading held is the heading that holds the course."""


class Tracker:
    """One pilot's idea of the wind, and the headings he steers along a course."""

    def __init__(self, tas_kt: float, *, overcorrection: float = 1.0) -> None:
        """`overcorrection`: how many times the cut that the needle asks for is taken."""
        self._tas_kt = tas_kt
        self._cut_per_deg = CUT_PER_DEG * overcorrection
        self._toward_east_kt = self._toward_north_kt = 0.0
        self._course_mag_deg = 360.0
        self._largest_cut_deg = FIRST_CUT_DEG
        self._on_cut_s = 0.0
        self.correction_deg = 0.0
        """Added to the course it gives the heading that is thought to hold it; left negative."""

    @property
    def holding_mag_deg(self) -> float:
        """The heading that is thought to hold the course."""
        return wrap_deg(self._course_mag_deg + self.correction_deg)

    def begin(self, course_mag_deg: float) -> None:
        """Begin to track a course with the wind as learnt so far."""
        self._course_mag_deg = course_mag_deg
        self._largest_cut_deg, self._on_cut_s = FIRST_CUT_DEG, 0.0
        course = math.radians(course_mag_deg)
        drift_kt = self._toward_east_kt * math.cos(course) - self._toward_north_kt * math.sin(course)
        self.correction_deg = _clamp(
            -math.degrees(math.asin(drift_kt / self._tas_kt)), LARGEST_CORRECTION_DEG
        )

    def steer(self, needle: Needle, heading_mag_deg: float, step_s: float) -> float:
        """Return the heading to fly now instead of this one, and learn from the needle for `step_s`."""
        coming_deg = needle.deg + AHEAD_S * needle.rate_deg_s
        if abs(needle.deg) < LEARN_WITHIN_DEG:
            learnt_deg = LEARN_PER_S * coming_deg * step_s
            self.correction_deg = _clamp(self.correction_deg + learnt_deg, LARGEST_CORRECTION_DEG)
        cut_deg = _clamp(self._cut_per_deg * coming_deg, self._largest_cut_deg)
        steered_mag_deg = wrap_deg(self.holding_mag_deg + cut_deg)
        self._find_cut(needle, abs(difference_deg(heading_mag_deg, steered_mag_deg)), step_s)
        return steered_mag_deg

    def _find_cut(self, needle: Needle, off_heading_deg: float, step_s: float) -> None:
        """Take more cut while the first one does not bring the needle in."""
        if abs(needle.deg) < LEARN_WITHIN_DEG:
            self._largest_cut_deg, self._on_cut_s = FIRST_CUT_DEG, 0.0
        elif off_heading_deg < ON_CUT_DEG and not needle.is_closing:
            self._on_cut_s += step_s
        if self._on_cut_s > PATIENCE_S:
            self._largest_cut_deg = min(LARGEST_CUT_DEG, self._largest_cut_deg + MORE_CUT_DEG_S * step_s)

    def learn_wind(self, needle: Needle, heading_mag_deg: float) -> None:
        """At the end of a leg: where the course is held, the correction tells the wind across it."""
        if abs(needle.deg) > ON_COURSE_DEG or abs(needle.rate_deg_s) > STEADY_DEG_S:
            return
        course = math.radians(self._course_mag_deg)
        held_deg = difference_deg(heading_mag_deg, self._course_mag_deg)
        drift_kt = -self._tas_kt * math.sin(math.radians(held_deg))
        thought_kt = self._toward_east_kt * math.cos(course) - self._toward_north_kt * math.sin(course)
        self._toward_east_kt += (drift_kt - thought_kt) * math.cos(course)
        self._toward_north_kt -= (drift_kt - thought_kt) * math.sin(course)


def _clamp(deg: float, largest_deg: float) -> float:
    return max(-largest_deg, min(largest_deg, deg))
