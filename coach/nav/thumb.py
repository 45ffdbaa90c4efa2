"""Rules of thumb that pilots reckon with in their heads, each beside the exact figure.

Never used to work anything out: a plan is exact. They are shown where pilots use them, with how far they
are off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Thumb:
    """What a rule gives, and what is so; both in one unit, the caller's."""

    rule: float
    exact: float

    @property
    def off(self) -> float:
        """How much too high the rule is; too low negative."""
        return self.rule - self.exact


def off_track_nm(off_deg: float, distance_nm: float) -> Thumb:
    """Return how far beside the track so many degrees lead, 1 in 60: degrees * distance / 60.

    Exact: the tangent, distance along the track. `off_deg` above -90 and below 90.
    """
    exact = distance_nm * math.tan(math.radians(off_deg))
    return Thumb(rule=off_deg * distance_nm / 60.0, exact=exact)


def off_track_deg(off_nm: float, distance_nm: float) -> Thumb:
    """Return the angle of so many miles beside the track at a distance above 0 along it, 1 in 60."""
    exact = math.degrees(math.atan2(off_nm, distance_nm))
    return Thumb(rule=off_nm * 60.0 / distance_nm, exact=exact)


def closing_deg(off_nm: float, flown_nm: float, to_go_nm: float) -> Thumb:
    """Return the heading change that leads from beside the track to its end.

    The angle the aircraft went off by and the angle that closes, each by 1 in 60 (FAA commercial test bank).
    """
    opening, closing = off_track_deg(off_nm, flown_nm), off_track_deg(off_nm, to_go_nm)
    return Thumb(rule=opening.rule + closing.rule, exact=opening.exact + closing.exact)


def dots_nm(dots: float, distance_nm: float, dot_deg: float = 2.0) -> Thumb:
    """Return how far off course a deflection of so many dots is: 200 ft a dot a mile (FAA test bank).

    The rule holds for dots of 2 degrees and reckons 6,000 ft to the mile; `dot_deg` alters the exact one.
    """
    exact = distance_nm * math.tan(math.radians(dots * dot_deg))
    return Thumb(rule=dots * 200.0 * distance_nm / 6000.0, exact=exact)
