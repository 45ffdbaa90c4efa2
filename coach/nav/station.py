"""A VOR station on the earth: positions to and from the station's own magnetic rose, along the geodesic.

Never uses today's variation: a radial is magnetic by the station's declination, whatever the compass says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geographiclib.geodesic import Geodesic

from coach.nav.angles import wrap_deg
from coach.nav.units import M_PER_NM
from coach.nav.vor import FULL_SCALE_DEG, Reading, receive


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A VOR station."""

    latitude_deg: float
    """WGS-84, -90 to 90, north positive."""

    longitude_deg: float
    """WGS-84, -180 to 180, east positive."""

    declination_deg: float = 0.0
    """The station's own, -180 to 180, east positive: magnetic = true - declination."""

    def place(self, lat_deg: float, lon_deg: float) -> tuple[float, float]:
        """Return how far east and north of the station a position is, in NM, magnetic north up.

        Along the geodesic from the station: distance and radial are exact at any distance.
        """
        line = Geodesic.WGS84.Inverse(
            self.latitude_deg, self.longitude_deg, lat_deg, lon_deg, Geodesic.DISTANCE | Geodesic.AZIMUTH
        )
        radial = math.radians(line["azi1"] - self.declination_deg)
        distance_nm = line["s12"] / M_PER_NM
        return distance_nm * math.sin(radial), distance_nm * math.cos(radial)

    def locate(self, east_nm: float, north_nm: float) -> tuple[float, float]:
        """Return latitude and longitude of a place given as `place` returns it."""
        radial_true_deg = math.degrees(math.atan2(east_nm, north_nm)) + self.declination_deg
        line = Geodesic.WGS84.Direct(
            self.latitude_deg,
            self.longitude_deg,
            radial_true_deg,
            math.hypot(east_nm, north_nm) * M_PER_NM,
            Geodesic.LATITUDE | Geodesic.LONGITUDE,
        )
        return line["lat2"], line["lon2"]

    def as_magnetic(self, true_deg: float) -> float:
        """Return a true direction by the station's rose, above 0 up to 360."""
        return wrap_deg(true_deg - self.declination_deg)

    def as_true(self, mag_deg: float) -> float:
        """Return a direction of the station's rose as true, above 0 up to 360."""
        return wrap_deg(mag_deg + self.declination_deg)


def receive_at(
    station: Station,
    lat_deg: float,
    lon_deg: float,
    *,
    course_mag_deg: float,
    height_ft: float = 0.0,
    full_scale_deg: float = FULL_SCALE_DEG,
) -> Reading:
    """Return what a receiver shows at a position; `height_ft` above the station."""
    east_nm, north_nm = station.place(lat_deg, lon_deg)
    return receive(
        east_nm,
        north_nm,
        course_mag_deg=course_mag_deg,
        height_ft=height_ft,
        full_scale_deg=full_scale_deg,
    )


def render_station(station: Station) -> str:
    """Return `LAT,LON,DECLINATION` in degrees, as `--station` takes it."""
    angles_deg = (station.latitude_deg, station.longitude_deg, station.declination_deg)
    return ",".join(f"{angle_deg:.12g}" for angle_deg in angles_deg)
