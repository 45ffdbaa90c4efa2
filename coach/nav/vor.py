"""A VOR receiver: radial, TO/FROM flag and needle for a selected course, and station passage.

Never filters or delays: it shows what a perfect receiver would show at that point. East and north are counted
from the station on a flat earth with the station's magnetic north up (good within 10 NM).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from coach.nav.angles import difference_deg, wrap_deg
from coach.nav.units import FT_PER_NM

FULL_SCALE_DEG = 10.0
"""Needle full scale; the handbooks say 10 to 12 (FAA-H-8083-15A p. 7-11 and FAA test bank)."""

CONE_HALF_ANGLE_DEG = 50.0
"""Cone of ambiguity from the vertical, for procedure design (ICAO Doc 8168 Vol II; value from memory)."""

FLAG_OFF_DEG = 1.0
"""Within this of abeam the flag shows neither; our own choice (the handbooks give no figure)."""

PASSAGE_WITHIN_NM = 1.0
"""Farther from the station a reversal of the flag is going abeam, not passage; our own choice."""

PASSAGE_PERSISTS_S = 2.0
"""How long the reversed flag must stay before it counts; our own choice."""


class Flag(StrEnum):
    """Whether the selected course leads to the station or from it; heading does not matter."""

    TO = "to"
    FROM = "from"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What the receiver shows at one point."""

    radial_mag_deg: float
    """The radial the aircraft is on, above 0 up to 360; 360 exactly over the station."""

    distance_nm: float
    """Over the ground, not slant."""

    flag: Flag
    """By geometry; in the cone a real indicator may show anything."""

    needle_deg: float
    """Deflection, right positive ("the course is to the right"), held at full scale."""

    off_course_deg: float
    """The same angle without the stops, -90 to 90."""

    to_go_nm: float
    """Along the selected course to the point abeam the station; negative beyond it."""

    across_nm: float
    """How far right of the selected course's line, seen along the course; left negative."""

    is_at_stop: bool
    """The needle lies at full scale; it is alive where this is False."""

    in_cone: bool
    """In the cone of ambiguity: needle and flag are not to be trusted."""


def cone_radius_nm(height_ft: float) -> float:
    """Return the radius of the cone of ambiguity at a height above the station."""
    return height_ft / FT_PER_NM * math.tan(math.radians(CONE_HALF_ANGLE_DEG))


def slant_nm(distance_nm: float, height_ft: float) -> float:
    """Return the slant range, as DME shows it."""
    return math.hypot(distance_nm, height_ft / FT_PER_NM)


def off_course_deg(radial_mag_deg: float, course_mag_deg: float) -> float:
    """Return the angle between the radial and the course's line, positive where the course is to the right.

    "Right" as the needle shows it: seen along the selected course, whatever the heading. -90 to 90.
    """
    apart = difference_deg(course_mag_deg, radial_mag_deg)
    if abs(apart) <= 90.0:
        return apart
    return math.copysign(180.0 - abs(apart), apart)


def receive(
    east_nm: float,
    north_nm: float,
    *,
    course_mag_deg: float,
    height_ft: float = 0.0,
    full_scale_deg: float = FULL_SCALE_DEG,
) -> Reading:
    """Return what the receiver shows; east and north from the station, magnetic north up."""
    distance_nm = math.hypot(east_nm, north_nm)
    radial = wrap_deg(math.degrees(math.atan2(east_nm, north_nm)))
    off_deg = off_course_deg(radial, course_mag_deg)
    turned_deg = difference_deg(radial, course_mag_deg)
    apart_deg = abs(turned_deg)
    return Reading(
        radial_mag_deg=radial,
        distance_nm=distance_nm,
        flag=_flag(apart_deg, distance_nm),
        needle_deg=max(-full_scale_deg, min(full_scale_deg, off_deg)),
        off_course_deg=off_deg,
        to_go_nm=-distance_nm * math.cos(math.radians(apart_deg)),
        across_nm=distance_nm * math.sin(math.radians(turned_deg)),
        is_at_stop=abs(off_deg) >= full_scale_deg,
        in_cone=distance_nm <= cone_radius_nm(height_ft),
    )


def _flag(apart_deg: float, distance_nm: float) -> Flag:
    if distance_nm == 0.0 or abs(apart_deg - 90.0) <= FLAG_OFF_DEG:
        return Flag.NEITHER
    return Flag.FROM if apart_deg < 90.0 else Flag.TO


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """The station has gone by: the first complete TO/FROM reversal (AIM 5-3-8g) that persisted."""

    at_s: float
    """When the aircraft was abeam the station, between the two readings around the reversal."""

    confirmed_s: float
    """The time of the reading that made it certain."""

    distance_nm: float
    """How far from the station the aircraft was abeam it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageWatch:
    """Watches the flag for station passage, reading by reading.

    A needle that swings or a flag that flickers is no passage; a reversal beyond `within_nm` is going abeam.
    A reversal made by turning the course selector is none either: start a new watch when the course is
    changed, unless a passage is pending.
    """

    within_nm: float = PASSAGE_WITHIN_NM
    persists_s: float = PASSAGE_PERSISTS_S
    inbound: tuple[float, Reading] | None = None
    """Time and reading of the last one that showed TO."""

    abeam: tuple[float, float] | None = None
    """When TO became FROM and how far from the station; None while no passage is pending."""

    @property
    def is_pending(self) -> bool:
        """Whether the flag has reversed and must still persist."""
        return self.abeam is not None

    def after(self, at_s: float, reading: Reading) -> tuple[PassageWatch, Passage | None]:
        """Return the watch after one more reading, and the passage if that reading made it certain."""
        if reading.flag is Flag.NEITHER:
            return self, None
        if reading.flag is Flag.TO:
            return replace(self, inbound=(at_s, reading), abeam=None), None
        if self.inbound is None:
            return self, None
        crossed_s, beside_nm = self.abeam or _abeam(*self.inbound, at_s, reading)
        if beside_nm > self.within_nm:
            return replace(self, inbound=None), None
        if at_s - crossed_s < self.persists_s:
            return replace(self, abeam=(crossed_s, beside_nm)), None
        passage = Passage(at_s=crossed_s, confirmed_s=at_s, distance_nm=beside_nm)
        return replace(self, inbound=None, abeam=None), passage


def _abeam(to_s: float, to: Reading, from_s: float, from_: Reading) -> tuple[float, float]:
    """Return when the aircraft was abeam the station between two readings, and how far from it."""
    share = to.to_go_nm / (to.to_go_nm - from_.to_go_nm)
    beside_nm = to.across_nm + (from_.across_nm - to.across_nm) * share
    return to_s + (from_s - to_s) * share, abs(beside_nm)
