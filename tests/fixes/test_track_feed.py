"""Recorded feeds as tracks: times, dates, seconds that are whole."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.errors import TrackError
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_nmea
from coach.fixes.track_feed import decode_feed
from tests.fixes.samples import START, flight


def test_an_nmea_log_has_date_altitude_speed_and_track():
    track = decode_feed(b"".join(map(encode_nmea, flight(5))), "nmea", name="f")
    assert track.render_utc(4.0) == "2031-05-04T09:30:04.0Z"
    assert track.altitude_ft is not None
    assert track.ground_speed_kt is not None
    assert track.ground_speed_kt.tolist() == pytest.approx([90.0] * 5)
    assert track.heading_mag_deg is None


def test_positions_without_a_date_have_a_time_of_day_through_midnight():
    late = replace(START, utc=None, utc_of_day_s=86_398.0)
    fixes = [replace(fix, utc_of_day_s=(fix.utc_of_day_s or 0.0) % 86_400.0) for fix in flight(5, start=late)]
    track = decode_feed(b"".join(map(encode_gdl90, fixes)), "gdl90", name="f")
    assert track.time_s.tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert track.render_utc(2.0) == "00:00:00.0Z"


def test_fixes_within_one_whole_second_are_spread_over_it():
    track = decode_feed(b"".join(map(encode_gdl90, flight(20, every_s=0.2))), "gdl90", name="f")
    assert track.time_s.tolist() == pytest.approx([0.2 * i for i in range(20)])


def test_what_was_refused_is_told():
    content = b"".join(map(encode_nmea, flight(5)))
    track = decode_feed(content + b"$GPRMC,1*00\r\n", "nmea", name="f")
    assert len(track.notes) == 1
    assert track.notes[0].startswith("Refused 1 times, checksum: ")


def test_a_log_without_positions_is_refused():
    with pytest.raises(TrackError, match="at least two fixes"):
        decode_feed(b"$HCHDM,238,M*3E\r\n", "nmea", name="f")
