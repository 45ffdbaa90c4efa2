"""Getting onto a radial and staying there, as the handbooks teach it: intercept angle and bracketing.

Never leads the last turn: that is `coach.nav.course`. Source: FAA Instrument Flying Handbook (quoted), its
edition FAA-H-8083-15A p. 7-14 for the bracketing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from coach.nav.angles import difference_deg, reciprocal_deg, wrap_deg

LEAST_ANGLE_DEG = 20.0
MOST_ANGLE_DEG = 90.0

FIRST_CUT_DEG = 20.0
"""The first correction toward the needle; each one after it is half."""

LEAST_CUT_DEG = 5.0


def intercept_angle_deg(present_mag_deg: float, wanted_mag_deg: float) -> float:
    """Return double the angle between two radials, not less than 20 and not more than 90 degrees."""
    apart_deg = abs(difference_deg(wanted_mag_deg, present_mag_deg))
    return min(MOST_ANGLE_DEG, max(LEAST_ANGLE_DEG, 2.0 * apart_deg))


def intercept_heading_deg(present_mag_deg: float, wanted_mag_deg: float, *, is_inbound: bool) -> float:
    """Return the heading that cuts the wanted radial from the present one in nil wind, above 0 up to 360.

    Both are radials; inbound the course flown is the wanted radial's reciprocal. On the wanted radial it is
    the course itself.
    """
    course = reciprocal_deg(wanted_mag_deg) if is_inbound else wanted_mag_deg
    beside_deg = difference_deg(present_mag_deg, wanted_mag_deg)
    if beside_deg == 0.0:
        return wrap_deg(course)
    toward = math.copysign(1.0, beside_deg) * (1.0 if is_inbound else -1.0)
    return wrap_deg(course + toward * intercept_angle_deg(present_mag_deg, wanted_mag_deg))


def bracket_cuts_deg(first_deg: float = FIRST_CUT_DEG, least_deg: float = LEAST_CUT_DEG) -> Iterator[float]:
    """Yield the corrections of a bracketing, each half of the one before it: 20, 10, 5."""
    cut_deg = first_deg
    while cut_deg >= least_deg:
        yield cut_deg
        cut_deg /= 2.0


def bracket_headings_deg(course_mag_deg: float, *, is_needle_right: bool) -> tuple[float, ...]:
    """Return the headings of a bracketing in a wind that always drifts the same way, above 0 up to 360.

    Cut toward the needle; on course again take half of it out, and half of that, until the needle stays.
    """
    side = 1.0 if is_needle_right else -1.0
    return tuple(wrap_deg(course_mag_deg + side * cut_deg) for cut_deg in bracket_cuts_deg())
