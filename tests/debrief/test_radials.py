"""Radials and arcs whose truth is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coach.debrief.flight import see_flight
from coach.debrief.passages import find_passages
from coach.debrief.radials import find_arcs, find_radials
from coach.fixes.track import Track
from coach.nav.course import course_in_wind
from coach.nav.station import Station
from coach.nav.wind import parse_wind
from tests.debrief.flown import STATION, Receiver, off_deg, path_of, reported, start_of


def along(radial_deg: float, wind: str, receiver: Receiver, station: Station = STATION) -> Track:
    """Flown in on a radial, over the station and out on the opposite one, crabbing into the wind."""
    steer = course_in_wind(radial_deg + 180.0, 90.0, parse_wind(wind)).heading_mag_deg
    east, north = 4.0 * np.sin(np.radians(radial_deg)), 4.0 * np.cos(np.radians(radial_deg))
    start = start_of(float(east), float(north), steer, parse_wind(wind))
    return reported(path_of(start, [("straight", 8.0 * 3600.0 / start.ground_speed_kt)]), receiver, station)


@pytest.mark.parametrize("wind", ["360/0", "250/20"])
@pytest.mark.parametrize(
    "receiver", [Receiver(), Receiver(every_s=0.1, noise_m=3.0), Receiver(every_s=10.0)], ids=str
)
@pytest.mark.parametrize("radial_deg", [64.0, 359.9, 0.1])
def test_a_radial_four_degrees_off_is_found_with_that_angle(wind: str, receiver: Receiver, radial_deg: float):
    flight = see_flight(along(radial_deg + 4.0, wind, receiver), STATION)
    inbound, outbound = find_radials(flight)
    assert (inbound.direction, outbound.direction) == ("inbound", "outbound")
    assert off_deg(inbound.radial_mag_deg, radial_deg + 4.0) < 0.3
    assert off_deg(outbound.radial_mag_deg, radial_deg + 184.0) < 0.3
    assert inbound.spread_deg < 0.3
    assert inbound.from_nm == pytest.approx(4.0, abs=0.3)
    assert inbound.to_nm < 0.8
    (passage,) = find_passages(flight)
    assert passage.distance_nm < 0.05
    assert passage.at_s == pytest.approx((inbound.end_s + outbound.start_s) / 2, abs=8.0)
    assert passage.inbound_radial_mag_deg is not None
    assert off_deg(passage.inbound_radial_mag_deg, radial_deg + 4.0) < 0.3


@pytest.mark.parametrize(
    ("lat", "lon"), [(-40.0, 180.0), (-16.0, -179.99), (89.0, 10.0), (-89.0, 100.0)], ids=str
)
def test_the_antimeridian_and_the_poles_change_nothing(lat: float, lon: float):
    station = Station(latitude_deg=lat, longitude_deg=lon, declination_deg=-25.0)
    inbound, outbound = find_radials(see_flight(along(120.0, "250/20", Receiver(), station), station))
    assert off_deg(inbound.radial_mag_deg, 120.0) < 0.1
    assert off_deg(outbound.radial_mag_deg, 300.0) < 0.1


def test_midnight_changes_nothing():
    track = along(120.0, "360/0", Receiver())
    late = replace(track, began_utc=track.began_utc.replace(hour=23, minute=58))
    radials = find_radials(see_flight(late, STATION))
    assert [late.utc(radial.start_s).day - late.began_utc.day for radial in radials] == [0, 1]


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_an_arc_is_found_with_radius_and_sweep(side: float):
    rate = float(np.degrees(90.0 / 3600.0 / 7.0))
    start = start_of(-7.0 * side, 0.0, 360.0)
    path = path_of(start, [("turn", 90.0 * side, rate), ("straight", 60.0)])
    (arc,) = find_arcs(see_flight(reported(path, Receiver(noise_m=3.0)), STATION))
    assert arc.direction == ("clockwise" if side > 0 else "counterclockwise")
    assert arc.radius_nm == pytest.approx(7.0, abs=0.1)
    # The straight end goes on within the arc's limits for a while.
    assert arc.sweep_deg == pytest.approx(96.0, abs=7.0)
    assert off_deg(arc.from_radial_mag_deg, 270.0 if side > 0 else 90.0) < 1.0


def test_a_flight_past_the_station_flies_no_radial_and_no_arc():
    track = reported(path_of(start_of(-3.0, 2.0, 90.0), [("straight", 240.0)]), Receiver())
    flight = see_flight(track, STATION)
    assert find_radials(flight) == ()
    assert find_arcs(flight) == ()
    assert find_passages(flight) == ()


def test_a_radial_is_not_continued_across_a_gap():
    track = along(120.0, "360/0", Receiver())
    kept = np.r_[0:40, 100 : len(track)]
    torn = replace(track, time_s=track.time_s[kept], lat_deg=track.lat_deg[kept], lon_deg=track.lon_deg[kept])
    inbound = [radial for radial in find_radials(see_flight(torn, STATION)) if radial.direction == "inbound"]
    assert len(inbound) == 2
    assert inbound[1].start_s - inbound[0].end_s > 55.0
