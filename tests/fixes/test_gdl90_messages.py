"""GDL 90 messages against the worked examples of the interface specification (560-1058-00 Rev A; G5-G15)."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.gdl90_frames import encode_frame
from coach.fixes.gdl90_messages import (
    HEADING_TRUE,
    TRACK_TRUE,
    TRAFFIC,
    GeoAltitude,
    Heartbeat,
    TrafficReport,
    decode_geo_altitude,
    decode_heartbeat,
    decode_report,
    encode_geo_altitude,
    encode_heartbeat,
    encode_report,
)

TRAFFIC_MESSAGE = bytes.fromhex(
    "14 00 AB 45 49 1F EF 15 A8 89 78 0F 09 A9 07 B0 01 20 01 4E 38 32 35 56 20 20 20 00"
)
REPORT = TrafficReport(lat_deg=1.0, lon_deg=2.0)


def test_worked_heartbeat_says_its_time_and_counts():
    """G5, G6: 53,467 s is 14:51:07Z."""
    heartbeat = decode_heartbeat(bytes.fromhex("00 81 41 DB D0 08 02"))
    assert heartbeat == Heartbeat(
        is_gps_valid=True,
        is_utc_valid=True,
        utc_of_day_s=14 * 3600 + 51 * 60 + 7,
        is_initialised=True,
        is_csa_requested=True,
        n_uplink=1,
        n_basic_and_long=2,
    )
    assert encode_heartbeat(heartbeat) == bytes.fromhex("00 81 41 DB D0 08 02")


def test_worked_counts_byte_for_byte():
    """G7: 4 uplink, 567 basic and long."""
    heartbeat = decode_heartbeat(bytes.fromhex("00 81 01 00 00 22 37"))
    assert (heartbeat.n_uplink, heartbeat.n_basic_and_long) == (4, 567)
    assert encode_heartbeat(heartbeat)[5:] == bytes.fromhex("22 37")


def test_seventeenth_bit_of_the_time_is_in_the_second_status():
    heartbeat = Heartbeat(is_gps_valid=True, is_utc_valid=True, utc_of_day_s=86_399)
    assert decode_heartbeat(encode_heartbeat(heartbeat)) == heartbeat
    assert encode_heartbeat(heartbeat)[2] & 0x80


def test_worked_traffic_report_byte_for_byte():
    """G13."""
    report = decode_report(TRAFFIC_MESSAGE)
    assert (round(report.lat_deg, 6), round(report.lon_deg, 6)) == (44.907067, -122.994862)
    assert (report.pressure_altitude_ft, report.speed_kt, report.vertical_ft_min) == (5000, 123, 64)
    assert (report.direction_deg, report.direction_is, report.is_airborne) == (45.0, TRACK_TRUE, True)
    assert (report.nic, report.nac_p, report.call_sign, report.address) == (10, 9, "N825V", 0xAB4549)
    assert encode_report(report, message_id=TRAFFIC) == TRAFFIC_MESSAGE
    assert encode_frame(TRAFFIC_MESSAGE)[-6:] == bytes.fromhex("20 20 00 57 D6 7E")


def test_the_same_as_ownship_byte_for_byte():
    """G14."""
    frame = encode_frame(encode_report(decode_report(TRAFFIC_MESSAGE)))
    assert frame[:6] == bytes.fromhex("7E 0A 00 AB 45 49")
    assert frame[-4:] == bytes.fromhex("00 85 5B 7E")


def test_worked_geometric_altitude_byte_for_byte():
    """G15: 1,000 ft, figure of merit 10 m."""
    altitude = GeoAltitude(altitude_ft=1000, vfom_m=10)
    assert encode_frame(encode_geo_altitude(altitude)) == bytes.fromhex("7E 0B 00 C8 00 0A BF A8 7E")
    assert decode_geo_altitude(bytes.fromhex("0B 00 C8 00 0A")) == altitude
    assert encode_geo_altitude(GeoAltitude(altitude_ft=-1000))[1:3] == bytes.fromhex("FF 38")
    assert decode_geo_altitude(bytes.fromhex("0B FF 38 FF FF")) == GeoAltitude(
        altitude_ft=-1000, is_warning=True
    )


@pytest.mark.parametrize(
    ("degrees", "digits"),
    [(45.0, "200000"), (-45.0, "E00000"), (90.0, "400000"), (-180.0, "800000"), (0.0, "000000")],
)
def test_angles_are_coded_as_listed(degrees: float, digits: str):
    """G10."""
    message = encode_report(replace(REPORT, lon_deg=degrees))
    assert message[8:11] == bytes.fromhex(digits)
    assert decode_report(message).lon_deg == degrees


@pytest.mark.parametrize(
    ("altitude_ft", "steps"), [(0, 0x028), (1000, 0x050), (-1000, 0x000), (101_350, 0xFFE), (None, 0xFFF)]
)
def test_altitudes_are_coded_as_listed(altitude_ft: int | None, steps: int):
    """G10."""
    message = encode_report(replace(REPORT, pressure_altitude_ft=altitude_ft))
    assert message[11] << 4 | message[12] >> 4 == steps
    assert decode_report(message).pressure_altitude_ft == altitude_ft


def test_what_is_not_available_is_none():
    report = decode_report(encode_report(REPORT))
    assert (report.pressure_altitude_ft, report.speed_kt, report.vertical_ft_min) == (None, None, None)
    assert (report.direction_deg, report.direction_is) == (None, 0)
    message = bytearray(encode_report(REPORT))
    message[12] &= 0xF0
    message[17] = 77
    assert decode_report(bytes(message)).direction_deg is None


def test_sinking_is_negative():
    assert decode_report(encode_report(replace(REPORT, vertical_ft_min=-640))).vertical_ft_min == -640


def test_north_is_360_and_every_track_is_within_seven_tenths_of_a_degree():
    """G16."""
    for tenths in range(1, 3601):
        report = replace(REPORT, direction_deg=tenths / 10, direction_is=HEADING_TRUE)
        back_deg = decode_report(encode_report(report)).direction_deg
        assert 0.0 < back_deg <= 360.0
        assert abs((back_deg - tenths / 10 + 180.0) % 360.0 - 180.0) <= 0.704


@given(st.binary(min_size=28, max_size=28))
def test_every_report_decodes_and_comes_back_as_what_was_read(message: bytes):
    report = decode_report(bytes((10,)) + message[1:])
    if report.vertical_ft_min is not None:
        report = replace(report, vertical_ft_min=max(-32_640, min(32_640, report.vertical_ft_min)))
    if not report.call_sign.isascii():
        report = replace(report, call_sign="")
    assert decode_report(encode_report(report)) == report
