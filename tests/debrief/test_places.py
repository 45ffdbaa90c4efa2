"""Many positions seen from a station, against the geodesic of `geographiclib`."""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from coach.debrief.places import place_all
from coach.nav.station import Station
from tests.debrief.flown import off_deg


@pytest.mark.parametrize(
    ("lat", "lon"), [(-40.0, -110.0), (0.0, 0.0), (60.0, 179.9), (-16.0, -179.99), (89.0, 10.0)]
)
def test_places_agree_with_the_geodesic(lat: float, lon: float):
    station = Station(latitude_deg=lat, longitude_deg=lon, declination_deg=-7.5)
    ends = [
        Geodesic.WGS84.Direct(lat, lon, azimuth, distance_nm * 1852.0)
        for azimuth in range(3, 360, 40)
        for distance_nm in (0.01, 1.0, 20.0, 200.0)
    ]
    east, north = place_all(
        station, np.array([end["lat2"] for end in ends]), np.array([end["lon2"] for end in ends])
    )
    for end, e, n in zip(ends, east.tolist(), north.tolist(), strict=True):
        exact_e, exact_n = station.place(end["lat2"], end["lon2"])
        assert np.hypot(e, n) == pytest.approx(np.hypot(exact_e, exact_n), abs=0.1 / 1852.0)
        assert off_deg(np.degrees(np.arctan2(e, n)), np.degrees(np.arctan2(exact_e, exact_n))) < 0.001


def test_the_station_itself_is_at_no_distance():
    station = Station(latitude_deg=12.0, longitude_deg=34.0)
    east, north = place_all(station, np.array([12.0]), np.array([34.0]))
    assert np.hypot(east, north)[0] == 0.0
