import math

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.angles import difference_deg
from coach.nav.station import Station, receive_at
from coach.nav.vor import Flag

NOWHERE = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)


def test_a_radial_is_magnetic_by_the_stations_declination() -> None:
    # Due true east along the equator: radial 090 less a declination of 12 east.
    station = Station(latitude_deg=0.0, longitude_deg=20.0, declination_deg=12.0)
    reading = receive_at(station, 0.0, 20.1, course_mag_deg=78.0)
    assert reading.radial_mag_deg == pytest.approx(78.0)
    assert reading.flag is Flag.FROM
    assert reading.needle_deg == pytest.approx(0.0, abs=1e-9)


def test_distance_is_along_the_geodesic() -> None:
    # One degree of longitude on the WGS-84 equator: 6,378,137 m * pi / 180 = 111,319.49 m.
    station = Station(latitude_deg=0.0, longitude_deg=179.5)
    reading = receive_at(station, 0.0, -179.5, course_mag_deg=90.0)
    assert reading.distance_nm == pytest.approx(111_319.4908 / 1852.0)


def test_the_radial_far_out_is_the_bearing_at_the_station_not_at_the_aircraft() -> None:
    # At 60 degrees north the bearing changes by cos(30) for each degree of longitude: 4.3 degrees here.
    station = Station(latitude_deg=60.0, longitude_deg=0.0)
    line = Geodesic.WGS84.Inverse(60.0, 0.0, 60.0, 5.0)
    reading = receive_at(station, 60.0, 5.0, course_mag_deg=90.0)
    assert reading.radial_mag_deg == pytest.approx(line["azi1"])
    assert abs(difference_deg(reading.radial_mag_deg, line["azi2"])) > 4.0


@given(st.floats(-30, 30), st.floats(-30, 30))
def test_a_place_located_and_placed_again_is_the_same(east_nm: float, north_nm: float) -> None:
    assert NOWHERE.place(*NOWHERE.locate(east_nm, north_nm)) == pytest.approx((east_nm, north_nm), abs=1e-6)


def test_true_and_magnetic_are_a_declination_apart() -> None:
    assert NOWHERE.as_magnetic(5.0) == pytest.approx(353.0)
    assert NOWHERE.as_true(353.0) == pytest.approx(5.0)


def test_height_above_the_station_makes_the_cone() -> None:
    # 3,000 ft: 0.588 NM (V15).
    lat, lon = NOWHERE.locate(0.0, 0.58)
    assert receive_at(NOWHERE, lat, lon, course_mag_deg=360.0, height_ft=3000.0).in_cone
    assert not receive_at(NOWHERE, lat, lon, course_mag_deg=360.0, height_ft=2000.0).in_cone


@pytest.mark.parametrize(
    ("bearing_deg", "latitude_deg", "longitude_deg"),
    [
        # Q7: 10 NM from 40 N 105 W, computed with geographiclib 2.1.
        (360, 40.166792, -105.000000),
        (45, 40.117839, -104.846380),
        (90, 39.999797, -104.783123),
        (135, 39.881956, -104.846908),
        (180, 39.833203, -105.000000),
        (225, 39.881956, -105.153092),
        (270, 39.999797, -105.216877),
        (315, 40.117839, -105.153620),
    ],
)
def test_a_point_on_a_radial_is_where_the_geodesic_has_it(bearing_deg, latitude_deg, longitude_deg) -> None:
    station = Station(latitude_deg=40.0, longitude_deg=-105.0, declination_deg=11.0)
    radial = math.radians(station.as_magnetic(bearing_deg))
    found = station.locate(10.0 * math.sin(radial), 10.0 * math.cos(radial))
    assert found == pytest.approx((latitude_deg, longitude_deg), abs=1e-6)


@pytest.mark.parametrize("distance_nm", [0.5, 10.0, 40.0, 130.0])
@pytest.mark.parametrize("declination_deg", [-179.0, -18.0, 0.0, 12.0])
def test_points_on_all_radials_are_those_of_geographiclib(distance_nm: float, declination_deg: float) -> None:
    station = Station(latitude_deg=-40.0, longitude_deg=179.9, declination_deg=declination_deg)
    for radial_mag_deg in range(1, 361):
        true_deg = radial_mag_deg + declination_deg
        line = Geodesic.WGS84.Direct(-40.0, 179.9, true_deg, distance_nm * 1852.0)
        reading = receive_at(station, line["lat2"], line["lon2"], course_mag_deg=float(radial_mag_deg))
        assert reading.distance_nm == pytest.approx(distance_nm, abs=1e-8)
        assert difference_deg(reading.radial_mag_deg, radial_mag_deg) == pytest.approx(0.0, abs=1e-7)
        radial = math.radians(radial_mag_deg)
        located = station.locate(distance_nm * math.sin(radial), distance_nm * math.cos(radial))
        assert located == pytest.approx((line["lat2"], line["lon2"]), abs=1e-9)
