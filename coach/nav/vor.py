"""A VOR receiver: radial, TO/FROM flag and needle for a selected course, cone of ambiguity.

Never filters or delays: it shows what a perfect receiver would show at that point. East and north are counted
from the station, the station's magnetic north up: along the geodesic (`coach.nav.station`) they are exact at
any distance; a flat earth is good within 10 NM.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from coach.nav.angles import difference_deg, direction_deg
from coach.nav.units import FT_PER_NM

FULL_SCALE_DEG = 10.0
"""Needle full scale; the handbooks say 10 to 12 (FAA-H-8083-15A p. 7-11 and FAA test bank)."""

CONE_HALF_ANGLE_DEG = 50.0
"""Cone of ambiguity from the vertical, for procedure design (ICAO Doc 8168 Vol II; value from memory)."""

FLAG_OFF_DEG = 1.0
"""Within this of abeam the flag shows neither; our own choice (the handbooks give no figure)."""


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


def bearing_error_deg(radial_mag_deg: float, course_mag_deg: float) -> float:
    """Return how far a receiver is off whose needle is centered there: it shows the radial and this.

    Positive where it shows a greater radial; -90 to 90.
    """
    off_deg = off_course_deg(radial_mag_deg, course_mag_deg)
    is_from = abs(difference_deg(course_mag_deg, radial_mag_deg)) <= 90.0
    return off_deg if is_from else -off_deg


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
    radial = direction_deg(east_nm, north_nm)
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
