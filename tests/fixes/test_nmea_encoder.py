"""Fixes to sentences: the published forms come out equal, and a fix comes back from its own sentences."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.fix import Fix
from coach.fixes.nmea import NmeaDecoder
from coach.fixes.nmea_encoder import (
    encode_gga,
    encode_hdg,
    encode_hdt,
    encode_mwv,
    encode_nmea,
    encode_rmc,
    encode_sentence,
    encode_vhw,
    encode_vtg,
)
from tests.fixes.samples import START


def test_generated_sentences_equal_the_computed_ones():
    """N2, N11."""
    assert encode_vtg(360.0, 348.7, 0.0) == b"$GPVTG,360.0,T,348.7,M,000.0,N,000.0,K*43\r\n"
    assert encode_mwv(45.0, 12.5) == b"$WIMWV,045.0,R,012.5,N,A*24\r\n"
    assert encode_hdg(238.5, 10.5) == b"$HCHDG,238.5,,,10.5,E*11\r\n"
    assert encode_sentence("HCHDM,238,M") == b"$HCHDM,238,M*3E\r\n"
    # The listed VHW gives 0.01 kt and 0.01 km/h at once; 0.006 kt is the speed that rounds to both.
    assert encode_vhw(245.1, 245.1, 0.006) == b"$IIVHW,245.1,T,245.1,M,000.01,N,000.01,K*55\r\n"


def test_flight_is_sent_as_rmc_and_gga():
    assert encode_rmc(START) == b"$GPRMC,093000.00,A,3300.00000,S,01200.00000,W,090.0,360.0,040531,,,A*57\r\n"
    assert encode_gga(START) == b"$GPGGA,093000.00,3300.00000,S,01200.00000,W,1,09,0.9,914.40,M,,M,,*4C\r\n"


def test_what_a_fix_lacks_is_an_empty_field():
    timeless = Fix(at_s=0.0, lat_deg=1.0, lon_deg=2.0, source="nmea")
    assert encode_rmc(timeless).startswith(b"$GPRMC,,A,0100.00000,N,")
    bare = replace(timeless, utc_of_day_s=0.0)
    assert encode_rmc(bare).startswith(b"$GPRMC,000000.00,A,0100.00000,N,00200.00000,E,,,,,,A*")
    assert encode_gga(bare).startswith(b"$GPGGA,000000.00,0100.00000,N,00200.00000,E,1,,,,M,,M,,*")


def test_no_minute_and_no_second_has_sixty():
    fix = Fix(at_s=0.0, lat_deg=9.99999999, lon_deg=-179.99999999, source="nmea", utc_of_day_s=59.999)
    assert b",000059.99,A,1000.00000,N,18000.00000,W," in encode_rmc(fix)


def test_north_is_sent_as_360():
    assert encode_hdt(0.0) == encode_hdt(360.0) == encode_hdt(359.99) == b"$HEHDT,360.0,T*2A\r\n"


@given(
    lat_deg=st.floats(-90, 90),
    lon_deg=st.floats(-180, 180),
    of_day_s=st.integers(0, 8_639_999).map(lambda hundredths: hundredths / 100),
    speed_kt=st.none() | st.floats(0, 600),
    altitude_ft=st.none() | st.floats(-1000, 60_000),
    variation_deg=st.none() | st.floats(-179, 179),
    heading_deg=st.none() | st.floats(0.1, 360),
)
def test_every_fix_comes_back_from_its_sentences(
    lat_deg, lon_deg, of_day_s, speed_kt, altitude_ft, variation_deg, heading_deg
):
    sent = Fix(
        at_s=1.0,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        source="nmea",
        utc_of_day_s=of_day_s,
        ground_speed_kt=speed_kt,
        altitude_ft=altitude_ft,
        variation_deg=variation_deg,
        heading_mag_deg=heading_deg,
    )
    decoder = NmeaDecoder()
    found = decoder.feed(encode_nmea(sent), 1.0) + decoder.flush()
    if round(abs(lat_deg) * 6e6) == round(abs(lon_deg) * 6e6) == 0:
        assert not any(isinstance(thing, Fix) for thing in found)
        return
    (back,) = found
    assert (back.lat_deg, back.lon_deg) == (
        pytest.approx(lat_deg, abs=1e-7),
        pytest.approx(lon_deg, abs=1e-7),
    )
    assert back.utc_of_day_s == pytest.approx(of_day_s, abs=0.0101)
    assert back.ground_speed_kt == (None if speed_kt is None else pytest.approx(speed_kt, abs=0.051))
    assert back.altitude_ft == (None if altitude_ft is None else pytest.approx(altitude_ft, abs=0.02))
    assert back.variation_deg == (None if variation_deg is None else pytest.approx(variation_deg, abs=0.051))
    assert back.heading_mag_deg == (None if heading_deg is None else pytest.approx(heading_deg, abs=0.051))
