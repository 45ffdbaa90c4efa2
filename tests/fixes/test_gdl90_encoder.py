"""Fixes to GDL 90 and back, within the interface's steps (G10)."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.fix import Fix
from coach.fixes.gdl90 import Gdl90Decoder
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.gdl90_messages import DEGREES_A_STEP
from tests.fixes.samples import START


def back_from(*sent: Fix) -> Fix:
    decoder = Gdl90Decoder()
    return [found for fix in sent for found in decoder.feed(encode_gdl90(fix), 0.0)][-1]


def test_fix_without_anything_but_a_position_comes_back_with_nothing_invented():
    back = back_from(Fix(at_s=0.0, lat_deg=-33.0, lon_deg=-12.0, source="nmea"))
    assert (back.pressure_altitude_ft, back.geo_altitude_ft, back.ground_speed_kt) == (None, None, None)
    assert (back.track_true_deg, back.vertical_speed_ft_min, back.utc_of_day_s) == (None, None, None)


def test_altitude_above_sea_is_not_sent_as_pressure_altitude():
    assert back_from(START).pressure_altitude_ft is None


def test_geometric_altitude_goes_with_the_next_report():
    high = replace(START, geo_altitude_ft=3100.0)
    assert back_from(high).geo_altitude_ft is None
    assert back_from(high, high).geo_altitude_ft == 3100.0


@given(
    lat_deg=st.floats(-89.9, 89.9).filter(lambda lat: abs(lat) > 0.001),
    lon_deg=st.floats(-180, 179.99),
    altitude_ft=st.floats(-1000, 60_000),
    speed_kt=st.floats(0, 4000),
    track_deg=st.floats(0.1, 360),
)
def test_every_fix_comes_back_within_half_a_step(lat_deg, lon_deg, altitude_ft, speed_kt, track_deg):
    back = back_from(
        replace(
            START,
            lat_deg=lat_deg,
            lon_deg=lon_deg,
            pressure_altitude_ft=altitude_ft,
            ground_speed_kt=speed_kt,
            track_true_deg=track_deg,
        )
    )
    assert back.lat_deg == pytest.approx(lat_deg, abs=DEGREES_A_STEP / 1.99)
    assert back.lon_deg == pytest.approx(lon_deg, abs=DEGREES_A_STEP / 1.99)
    assert back.pressure_altitude_ft == pytest.approx(altitude_ft, abs=13.0)
    assert back.ground_speed_kt == pytest.approx(speed_kt, abs=0.5)
    assert abs((back.track_true_deg - track_deg + 180.0) % 360.0 - 180.0) <= 0.704
