"""How a pilot sees that a leg is over which ends on heading, altitude, distance, radial or his own word.

One watch a leg, by the dials alone. Never says anything and never steers.
"""

from __future__ import annotations

from coach.drill.model import Ending, Leg
from coach.nav.climb import level_off_lead_ft
from coach.nav.vor import Flag
from coach.rehearsal.needle import Needle
from coach.rehearsal.watch import Instruments

SEEN_BY_DIALS = (Ending.HEADING, Ending.ALTITUDE, Ending.DISTANCE, Ending.RADIAL, Ending.WORD)
"""The endings that this watch knows; the pilot says "next leg" to each."""


class Reached:
    """Watches from the leg's beginning."""

    def __init__(self, leg: Leg, begun: Instruments, needle: Needle) -> None:
        self._leg = leg
        self._begun = begun
        self._needle = needle
        self._needle_side = 0.0
        self._has_turned = False

    def is_reached(self, seen: Instruments, *, is_level: bool) -> bool:
        """Whether the dials show that the leg is over; `is_level`: the wings are level."""
        self._has_turned = self._has_turned or is_level
        match self._leg.ends_on:
            case Ending.HEADING:
                return is_level
            case Ending.ALTITUDE:
                return self._is_level_off_due(seen)
            case Ending.DISTANCE:
                return self._has_distance(seen)
            case Ending.RADIAL:
                return self._is_centered(seen)
            case Ending.WORD:
                return seen.at_s - self._begun.at_s >= (self._leg.leg_s or 0.0)
        return False

    def _is_level_off_due(self, seen: Instruments) -> bool:
        """A tenth of the rate before the altitude (FAA-H-8083-15A p. 5-17)."""
        changed_ft = abs(seen.altitude_ft - self._begun.altitude_ft)
        return changed_ft >= abs(self._leg.climb_ft or 0.0) - level_off_lead_ft(self._leg.rate_ft_min or 0.0)

    def _has_distance(self, seen: Instruments) -> bool:
        """From beyond or from within: on a course as it leads, to the station or from it."""
        wanted_nm = self._leg.distance_nm or 0.0
        is_from_beyond = self._begun.distance_nm > wanted_nm
        if self._leg.tracks:
            is_from_beyond = seen.flag is Flag.TO
        if not self._has_turned:
            return False
        return seen.distance_nm <= wanted_nm if is_from_beyond else seen.distance_nm >= wanted_nm

    def _is_centered(self, seen: Instruments) -> bool:
        """The needle goes through the centre, the flag showing FROM."""
        if seen.flag is not Flag.FROM or self._needle.is_at_stop:
            return False
        side = 1.0 if self._needle.deg > 0.0 else -1.0
        self._needle_side = self._needle_side or side
        return side != self._needle_side
