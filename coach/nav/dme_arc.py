"""A DME arc: when to turn onto it, the headings that fly it, how far a chord lies beside it.

Distances over the ground: slant range is `coach.nav.vor`'s. Never models wind: a pilot corrects by the
distance shown. Source: Instrument Flying Handbook (FAA-H-8083-15A p. 7-18; edition of 2001, Fig 7-16).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.nav.angles import wrap_deg
from coach.nav.thumb import Thumb
from coach.nav.turn import STANDARD_RATE_DEG_S, radius_nm

LEAD_NM = 0.5
"""Before the arc the turn begins, up to `LEAD_UP_TO_KT` of ground speed."""

LEAD_UP_TO_KT = 150.0

LEAD_SHARE = 0.005
"""Of the ground speed, the lead above `LEAD_UP_TO_KT` (military notes)."""

STEP_DEG = 10.0
"""Turn 10, twist 10: how far heading and selected course are turned at a time (technique, no source)."""

INSIDE_DEG_NM = 10.0
"""Correction away from the station, degrees a mile inside: 5 degrees for each half mile (CNATRA P-871)."""

OUTSIDE_DEG_NM = 20.0
"""Correction toward the station, degrees a mile outside: 10 degrees for each half mile (the same)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """An arc about a station."""

    distance_nm: float
    """Above 0."""

    is_clockwise: bool
    """Seen from above: the radials go up."""

    def heading_mag_deg(self, radial_mag_deg: float) -> float:
        """Return the tangent's heading at a radial, above 0 up to 360: 90 degrees from the radial."""
        return wrap_deg(radial_mag_deg + (90.0 if self.is_clockwise else -90.0))

    def corrected_heading_mag_deg(self, radial_mag_deg: float, shown_nm: float) -> float:
        """Return the heading that brings the aircraft back to the arc from the distance shown."""
        off_nm = shown_nm - self.distance_nm
        toward_deg = off_nm * (OUTSIDE_DEG_NM if off_nm > 0.0 else INSIDE_DEG_NM)
        toward_deg = max(-90.0, min(90.0, toward_deg))
        side = 1.0 if self.is_clockwise else -1.0
        return wrap_deg(self.heading_mag_deg(radial_mag_deg) + side * toward_deg)

    def flown_s(self, radials_deg: float, ground_speed_kt: float) -> float:
        """Return how long so many radials last on the arc."""
        return math.radians(radials_deg) * self.distance_nm / ground_speed_kt * 3600.0

    def radials_a_mile(self) -> Thumb:
        """Return the radials that a mile along the arc crosses: 60 / DME."""
        return Thumb(rule=60.0 / self.distance_nm, exact=math.degrees(1.0 / self.distance_nm))

    def lead_radials_deg(self, lead_nm: float) -> Thumb:
        """Return the radials that a lead so long before leaving the arc is, at 60 / DME a mile."""
        each = self.radials_a_mile()
        return Thumb(rule=lead_nm * each.rule, exact=lead_nm * each.exact)

    def chord_inside_nm(self, step_deg: float = STEP_DEG) -> float:
        """Return how far inside the arc the middle of a straight between two of its points lies."""
        return self.distance_nm * (1.0 - math.cos(math.radians(step_deg) / 2.0))

    def tangent_outside_nm(self, step_deg: float = STEP_DEG) -> float:
        """Return how far outside the arc the corner between two of its tangents lies."""
        return self.distance_nm * (1.0 / math.cos(math.radians(step_deg) / 2.0) - 1.0)


def arc_lead_nm(
    arc_nm: float, ground_speed_kt: float, *, is_inbound: bool, rate_deg_s: float = STANDARD_RATE_DEG_S
) -> Thumb:
    """Return how far before the arc its turn begins, from a radial flown in from outside or out from inside.

    Exact in still air: the turn's circle touches the arc, from outside where the arc is met inbound.
    """
    radius = radius_nm(ground_speed_kt, rate_deg_s)
    if is_inbound:
        exact = math.sqrt(arc_nm**2 + 2.0 * arc_nm * radius) - arc_nm
    else:
        exact = arc_nm - math.sqrt(max(0.0, arc_nm**2 - 2.0 * arc_nm * radius))
    rule = LEAD_NM if ground_speed_kt <= LEAD_UP_TO_KT else LEAD_SHARE * ground_speed_kt
    return Thumb(rule=rule, exact=exact)
