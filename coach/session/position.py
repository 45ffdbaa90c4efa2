"""Where a fix puts the aircraft, and what a receiver shows there, for screens.

Never for what is said: `coach.session.track_calls` decides that, and the pilot's needle is the authority.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.fixes.fix import Fix
from coach.nav.angles import direction_deg
from coach.nav.station import Station
from coach.nav.vor import FULL_SCALE_DEG, Flag, receive


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One fix, seen from the station."""

    east_nm: float
    north_nm: float
    """Magnetic north of the station up."""

    track_mag_deg: float | None
    ground_speed_kt: float | None
    needle_share: float | None
    """Of full scale, right positive, -1 to 1; None where no course is set."""

    flag: Flag | None

    @property
    def distance_nm(self) -> float:
        """Over the ground."""
        return math.hypot(self.east_nm, self.north_nm)

    @property
    def radial_mag_deg(self) -> int:
        """The radial it is on, 1-360."""
        return round(direction_deg(self.east_nm, self.north_nm)) % 360 or 360


def find_position(
    fix: Fix,
    station: Station,
    *,
    course_mag_deg: int | None,
    full_scale_deg: float = FULL_SCALE_DEG,
) -> Position:
    """Return what a perfect receiver shows at a fix; `course_mag_deg` None: no course is set."""
    east_nm, north_nm = station.place(fix.lat_deg, fix.lon_deg)
    reading = None
    if course_mag_deg is not None:
        reading = receive(east_nm, north_nm, course_mag_deg=course_mag_deg, full_scale_deg=full_scale_deg)
    track = fix.track_true_deg
    return Position(
        east_nm=east_nm,
        north_nm=north_nm,
        track_mag_deg=None if track is None else station.as_magnetic(track),
        ground_speed_kt=fix.ground_speed_kt,
        needle_share=None if reading is None else reading.needle_deg / full_scale_deg,
        flag=None if reading is None else reading.flag,
    )
