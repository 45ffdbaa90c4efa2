"""Where a fix puts the aircraft: by hand, one mile out on the radial and beside it."""

from __future__ import annotations

import pytest

from coach.fixes.fix import Fix
from coach.nav.station import Station
from coach.nav.vor import Flag
from coach.session.position import Position, find_position

STATION = Station(latitude_deg=-33.0, longitude_deg=-12.0, declination_deg=-10.0)


def at(east_nm: float, north_nm: float, course_mag_deg: int | None, **others: float) -> Position:
    lat_deg, lon_deg = STATION.locate(east_nm, north_nm)
    fix = Fix(at_s=1.0, lat_deg=lat_deg, lon_deg=lon_deg, source="nmea", **others)  # type: ignore[arg-type]
    return find_position(fix, STATION, course_mag_deg=course_mag_deg)


@pytest.mark.parametrize(
    ("east_nm", "north_nm", "course", "share", "flag"),
    [
        (1.0, 0.0, 90, 0.0, Flag.FROM),
        (1.0, 0.0, 270, 0.0, Flag.TO),
        (1.0, 0.0, 95, 0.5, Flag.FROM),
        (1.0, 0.0, 85, -0.5, Flag.FROM),
        (1.0, 0.0, 30, -1.0, Flag.FROM),
    ],
)
def test_needle_and_flag_are_those_of_the_course(
    east_nm: float, north_nm: float, course: int, share: float, flag: Flag
):
    position = at(east_nm, north_nm, course)
    assert position.needle_share == pytest.approx(share, abs=1e-3)
    assert position.flag is flag


def test_no_course_no_needle():
    position = at(3.0, 4.0, None)
    assert (position.needle_share, position.flag) == (None, None)
    assert position.distance_nm == pytest.approx(5.0, abs=1e-4)


@pytest.mark.parametrize(
    ("east_nm", "north_nm", "radial"), [(0.0, 2.0, 360), (2.0, 0.0, 90), (-0.01, 2.0, 360)]
)
def test_radial_is_a_whole_number_from_1_to_360(east_nm: float, north_nm: float, radial: int):
    assert at(east_nm, north_nm, None).radial_mag_deg == radial


def test_track_is_counted_from_the_stations_north():
    assert at(1.0, 0.0, 90, track_true_deg=80.0, ground_speed_kt=91.0).track_mag_deg == 90.0
    assert at(1.0, 0.0, 90).track_mag_deg is None
