"""Time and distance to a station by how fast its bearing changes abeam.

Never measures: it is given the seconds and the degrees. Source: Pilot's Handbook of Aeronautical Knowledge
(PHAK), navigation chapter; FAA Instrument Flying Handbook.
"""

from __future__ import annotations

import math

from coach.nav.thumb import Thumb
from coach.nav.units import SECONDS_PER_HOUR


def minutes_to_station(seconds: float, change_deg: float) -> float:
    """Return the minutes to the station: seconds between bearings / degrees of bearing change, above 0."""
    return seconds / change_deg


def distance_to_station_nm(tas_kt: float, seconds: float, change_deg: float) -> Thumb:
    """Return the miles to the station: TAS * minutes between bearings / degrees of bearing change.

    Exact for still air and a heading square to the first bearing: the distance at the second one.
    `change_deg` above 0 and below 90.
    """
    flown_nm = tas_kt * seconds / SECONDS_PER_HOUR
    return Thumb(
        rule=tas_kt * seconds / 60.0 / change_deg,
        exact=flown_nm / math.sin(math.radians(change_deg)),
    )


def bearing_rate_deg_min(ground_speed_kt: float, distance_nm: float) -> float:
    """Return how fast the bearing changes abeam a station at a distance above 0, degrees a minute."""
    return math.degrees(ground_speed_kt / 60.0 / distance_nm)
