"""Wind: reading it, turning it to magnetic, and the wind triangle.

Never varies with height, place or time: one wind for the whole drill.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from enum import StrEnum

from coach.errors import DrillError, Problem, SettingsError
from coach.nav.angles import as_heading, difference_deg, direction_deg, wrap_deg

WIND_FORM = re.compile(r"(?P<from>\d{1,3})(?P<reference>[TMtm]?)/(?P<speed>\d{1,3}(?:\.\d+)?)", re.ASCII)


class Reference(StrEnum):
    """Which north a direction is counted from."""

    TRUE = "true"
    MAGNETIC = "magnetic"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wind:
    """A steady wind."""

    from_deg: float
    """Where it blows from, above 0 up to 360."""

    speed_kt: float
    """0 or more."""

    reference: Reference = Reference.MAGNETIC

    def as_magnetic(self, declination_deg: float) -> Wind:
        """Return the wind counted from magnetic north; `declination_deg` east positive."""
        if self.reference is Reference.MAGNETIC:
            return self
        return replace(self, from_deg=wrap_deg(self.from_deg - declination_deg), reference=Reference.MAGNETIC)

    @property
    def east_kt(self) -> float:
        """How fast the air moves toward 090, in this wind's own reference."""
        return -self.speed_kt * math.sin(math.radians(self.from_deg))

    @property
    def north_kt(self) -> float:
        """How fast the air moves toward 360, in this wind's own reference."""
        return -self.speed_kt * math.cos(math.radians(self.from_deg))


CALM = Wind(from_deg=360.0, speed_kt=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Triangle:
    """What a wind does to a course."""

    correction_deg: float
    """Wind correction angle: added to the course it gives the heading; left negative."""

    heading_deg: float
    """The heading that makes the course good, above 0 up to 360."""

    ground_speed_kt: float
    """Above 0."""


def parse_wind(text: str, where: str = "--wind") -> Wind:
    """Return the wind written `250/20` or `250M/20` (magnetic), or `250T/20` (true).

    Direction 0-360 degrees, 0 taken as 360; speed in knots. Raises SettingsError.
    """
    match = WIND_FORM.fullmatch(text.strip())
    if match is None or int(match["from"]) > 360:
        expected = "DIR/KT with DIR 0-360, such as 250/20 (magnetic) or 250T/20 (true)"
        raise SettingsError(Problem(where=where, expected=expected, got=repr(text)))
    reference = Reference.TRUE if match["reference"].upper() == "T" else Reference.MAGNETIC
    return Wind(from_deg=wrap_deg(int(match["from"])), speed_kt=float(match["speed"]), reference=reference)


def render_wind(wind: Wind) -> str:
    """Return the wind as `parse_wind` reads it, the direction in whole degrees: `250/20`, `250T/20`."""
    letter = "T" if wind.reference is Reference.TRUE else ""
    return f"{as_heading(wind.from_deg):03d}{letter}/{wind.speed_kt:g}"


def solve_triangle(course_deg: float, tas_kt: float, wind: Wind) -> Triangle:
    """Return the heading and ground speed that hold a course in a wind, both in one reference.

    Raises DrillError where no heading holds the course or the aircraft would not move forward along it.
    """
    angle = math.radians(difference_deg(wind.from_deg, course_deg))
    across_kt, against_kt = wind.speed_kt * math.sin(angle), wind.speed_kt * math.cos(angle)
    along_kt = math.sqrt(max(0.0, tas_kt**2 - across_kt**2))
    if abs(across_kt) >= tas_kt or along_kt <= against_kt:
        expected = f"a wind in which {tas_kt:g} kt TAS can make good course {wrap_deg(course_deg):03.0f}"
        raise DrillError(Problem(where="wind", expected=expected, got=render_wind(wind)))
    correction_deg = math.degrees(math.asin(across_kt / tas_kt))
    return Triangle(
        correction_deg=correction_deg,
        heading_deg=wrap_deg(course_deg + correction_deg),
        ground_speed_kt=along_kt - against_kt,
    )


def wind_from_motion(
    *,
    track_deg: float,
    ground_speed_kt: float,
    heading_deg: float,
    tas_kt: float,
    reference: Reference = Reference.MAGNETIC,
) -> Wind:
    """Return the wind that makes the difference between heading at TAS and track at ground speed.

    Track and heading in the one reference that is named.
    """
    track, heading = math.radians(track_deg), math.radians(heading_deg)
    east_kt = ground_speed_kt * math.sin(track) - tas_kt * math.sin(heading)
    north_kt = ground_speed_kt * math.cos(track) - tas_kt * math.cos(heading)
    return blowing_toward(east_kt, north_kt, reference)


def blowing_toward(east_kt: float, north_kt: float, reference: Reference = Reference.MAGNETIC) -> Wind:
    """Return the wind that carries an aircraft so fast east and north, in the rose that is named."""
    from_deg = direction_deg(-east_kt, -north_kt)
    return Wind(from_deg=from_deg, speed_kt=math.hypot(east_kt, north_kt), reference=reference)
