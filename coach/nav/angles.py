"""Directions on the compass rose: wrapping, differences, turns and means.

Never knows whether a direction is true or magnetic: the caller's names say it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable


def wrap_deg(angle_deg: float) -> float:
    """Return the same direction in the range above 0 up to and including 360."""
    wrapped = angle_deg % 360.0
    return wrapped if wrapped > 0.0 else 360.0


def as_heading(angle_deg: float) -> int:
    """Return the whole heading 1-360 as it is said: north is 360, never 0; halves round up."""
    return math.floor(angle_deg + 0.5) % 360 or 360


def difference_deg(to_deg: float, from_deg: float) -> float:
    """Return the signed angle from one direction to another, right positive, above -180 up to 180."""
    turned = (to_deg - from_deg) % 360.0
    return turned - 360.0 if turned > 180.0 else turned


def reciprocal_deg(angle_deg: float) -> float:
    """Return the opposite direction, above 0 up to 360."""
    return wrap_deg(angle_deg + 180.0)


def right_turn_deg(from_deg: float, to_deg: float) -> float:
    """Return how far a right turn goes from one heading to another, 0 up to but not 360."""
    return (to_deg - from_deg) % 360.0


def left_turn_deg(from_deg: float, to_deg: float) -> float:
    """Return how far a left turn goes from one heading to another, 0 up to but not 360."""
    return (from_deg - to_deg) % 360.0


def shorter_turn_deg(from_deg: float, to_deg: float) -> float:
    """Return the signed shorter turn between two headings, right positive; 180 degrees goes right."""
    return difference_deg(to_deg, from_deg)


def direction_deg(east: float, north: float) -> float:
    """Return where a vector points, above 0 up to 360 (360 for none); both parts in one unit, any."""
    return wrap_deg(math.degrees(math.atan2(east, north)))


def mean_deg(angles_deg: Iterable[float]) -> float | None:
    """Return the circular mean, above 0 up to 360; None where the directions cancel or there are none."""
    east = north = 0.0
    for angle_deg in angles_deg:
        east += math.sin(math.radians(angle_deg))
        north += math.cos(math.radians(angle_deg))
    if math.hypot(east, north) < 1e-9:
        return None
    return direction_deg(east, north)
