"""Watches the fixes for a distance or a radial that ends the present leg: the moment it is crossed.

Never moves the drill: `coach.session.checkpoints` passes on what is seen.
"""

from __future__ import annotations

from coach.drill.model import Ending, Leg
from coach.nav.angles import difference_deg
from coach.nav.vor import slant_nm
from coach.session.motion import Motion
from coach.session.outlook import Outlook

WIDEST_DEG = 90.0
"""Farther from the radial than this the aircraft is on the other side of the station."""


class Crossings:
    """Watches from leg to leg."""

    def __init__(self) -> None:
        self._leg_i: int | None = None
        self._before: tuple[float, float] | None = None

    def find_crossed(self, outlook: Outlook) -> tuple[Ending, float] | None:
        """What is crossed at this fix, and when, between it and the one before; None: nothing."""
        leg, at_s = outlook.leg, outlook.motion.at_s
        if self._leg_i != outlook.progress.leg_i:
            self._leg_i, self._before = outlook.progress.leg_i, None
        off = _off(leg, outlook.motion, outlook)
        before, self._before = self._before, None if off is None else (at_s, off)
        if off is None or before is None or before[1] * off > 0.0 or before[1] == 0.0:
            return None
        then_s, then_off = before
        share = then_off / (then_off - off)
        return leg.ends_on, max(outlook.progress.begun_s, then_s + share * (at_s - then_s))


def _off(leg: Leg, motion: Motion, outlook: Outlook) -> float | None:
    """How far beyond the distance (NM, as DME shows it) or the radial (degrees); None: neither ends it."""
    if leg.ends_on is Ending.DISTANCE and leg.distance_nm is not None:
        return slant_nm(outlook.reading(360).distance_nm, outlook.use.height_ft) - leg.distance_nm
    if leg.ends_on is Ending.RADIAL and leg.course_mag_deg is not None:
        shown_deg = motion.radial_mag_deg + outlook.bearing_error_deg
        off_deg = difference_deg(shown_deg, leg.course_mag_deg)
        return off_deg if abs(off_deg) < WIDEST_DEG else None
    return None
