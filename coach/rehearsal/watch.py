"""How a pilot watches for one leg's checkpoint: what the dials must show before he takes it for true.

One watch a leg. Never says anything and never steers.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.nav.angles import difference_deg
from coach.nav.turn import lead_s
from coach.nav.vor import Flag
from coach.rehearsal.needle import Needle

HALF_WAY_DEG = 90.0
"""Half of the turn of 180 degrees: before it the needle's leaving the stop means nothing."""

WIDEST_LEAD_DEG = 135.0
"""With more than this still to turn, the needle's movement does not yet tell when to lead."""

ESTABLISHED_DEG = 5.0
"""Half scale (ICAO Doc 8168; value from memory)."""

ESTABLISHED_HEADING_DEG = 10.0
STEADY_DEG_S = 0.2
ESTABLISHED_FOR_S = 2.0
"""So long it must hold before the word is said (our own choice)."""

CONE_DEG_S = 0.5
"""The needle leaves the centre faster than this: the station is near, corrections stop (common practice)."""


@dataclass(frozen=True, slots=True)
class Instruments:
    """All that the pilot sees."""

    at_s: float
    heading_mag_deg: float
    needle_deg: float
    """Right positive, held at full scale."""

    flag: Flag
    radial_mag_deg: float = 360.0
    """By the tail of a bearing pointer."""

    distance_nm: float = 0.0
    """From the station, over the ground."""

    altitude_ft: float = 0.0


class Watch:
    """Watches from the leg's beginning; `needle` is the dial he looks at anyway."""

    def __init__(self, needle: Needle, from_heading_mag_deg: float) -> None:
        self._needle = needle
        self._from_heading_mag_deg = from_heading_mag_deg
        self._was_to = False
        self._side = 0.0
        self._steady_since_s: float | None = None

    def sees_passage(self, seen: Instruments) -> bool:
        """The first complete reversal of TO/FROM (AIM 5-3-8g); once."""
        is_passage = seen.flag is Flag.FROM and self._was_to
        if seen.flag is not Flag.NEITHER:
            self._was_to = seen.flag is Flag.TO
        return is_passage

    def is_half_way_round(self, seen: Instruments) -> bool:
        """Whether half of the turn of 180 degrees is done."""
        turned_deg = difference_deg(seen.heading_mag_deg, self._from_heading_mag_deg)
        return abs(turned_deg) >= HALF_WAY_DEG

    def sees_needle_alive(self) -> bool:
        """The needle has left the stop; never where it never was there."""
        return self._needle.has_been_at_stop and not self._needle.is_at_stop

    def sees_lead_point(self, turn_deg: float) -> bool:
        """The last turn must begin now to end on the course, or the needle has gone through the centre.

        `turn_deg` is how far from here to the heading that holds the course, without a sign.
        """
        needle = self._needle
        if needle.is_at_stop:
            return False
        side = 1.0 if needle.deg > 0 else -1.0
        self._side = self._side or side
        if side != self._side:
            return True
        centre_in_s = needle.find_centre_in_s()
        return centre_in_s is not None and turn_deg < WIDEST_LEAD_DEG and centre_in_s <= lead_s(turn_deg)

    def sees_established(self, seen: Instruments, holding_mag_deg: float) -> bool:
        """Within half scale, closing or steady, heading within 10 degrees of what holds it, for a while."""
        needle = self._needle
        is_steady = needle.is_closing or abs(needle.rate_deg_s) <= STEADY_DEG_S
        heading_off_deg = abs(difference_deg(seen.heading_mag_deg, holding_mag_deg))
        if not is_steady or abs(needle.deg) > ESTABLISHED_DEG or heading_off_deg > ESTABLISHED_HEADING_DEG:
            self._steady_since_s = None
            return False
        if self._steady_since_s is None:
            self._steady_since_s = seen.at_s
        return seen.at_s - self._steady_since_s >= ESTABLISHED_FOR_S

    def sees_cone(self) -> bool:
        """The needle runs off so fast that the station must be near."""
        return not self._needle.is_closing and abs(self._needle.rate_deg_s) > CONE_DEG_S
