"""Magnetic variation at a place and a time, by the World Magnetic Model WMM2025 of NOAA and the BGS.

Never reads the clock, and never turns a radial: a radial is magnetic by the station's own declination
(`coach.nav.station`), this is what the compass of the day makes of true north.
"""

from __future__ import annotations

from datetime import date

from pygeomag import GeoMag, decimal_year_from_date
from pygeomag.wmm.wmm_2025 import WMM_2025

from coach.nav.angles import difference_deg

FIRST_YEAR = 2025.0
LAST_YEAR = 2030.0
"""WMM2025 holds from the first to the last, in decimal years (NOAA)."""

LARGEST_DIFFERENCE_DEG = 2.0
"""A declination farther than this from the variation is worth a warning; our own choice."""


def year_of(day: date) -> float:
    """Return the decimal year at the start of a day, 2026.5 in the middle of 2026."""
    return float(decimal_year_from_date(day))


def find_variation_deg(
    latitude_deg: float, longitude_deg: float, *, year: float, height_km: float = 0.0
) -> float | None:
    """Return the magnetic variation, -180 to 180, east positive; None where the model does not hold.

    `year`: decimal, 2025.0 to 2030.0. `height_km`: above the WGS-84 ellipsoid; 10 km change it little.
    Near the magnetic poles, where the horizontal field is below 6,000 nT, it is of little use.
    """
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return None
    field = GeoMag(coefficients_data=WMM_2025).calculate(latitude_deg, longitude_deg, height_km, year)
    return float(field.d)


def find_difference_deg(declination_deg: float, variation_deg: float | None) -> float | None:
    """Return how far a station's declination lies east of the variation, above -180 up to 180; west negative.

    None where there is no variation.
    """
    return None if variation_deg is None else difference_deg(declination_deg, variation_deg)
