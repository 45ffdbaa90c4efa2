"""Bytes to fixes: the sentences of one instant become one fix, whatever their order and division."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.fix import Fix
from coach.fixes.nmea import HOLD_S, SAME_AGAIN, NmeaDecoder
from coach.fixes.nmea_encoder import encode_nmea
from coach.fixes.tally import Rejected
from tests.fixes.samples import PUBLISHED_GGA, PUBLISHED_HDG, PUBLISHED_RMC, PUBLISHED_VTG, START, flight
from tests.fixes.samples import sentence as bare


def sentence(body: str) -> bytes:
    return bare(body) + b"\r\n"


def rmc(time: str, *, status: str = "A", date: str = "040531") -> bytes:
    position = "3300.000,S,01200.000,W" if status == "A" else ",,,"
    return sentence(f"GPRMC,{time},{status},{position},090.0,360.0,{date},,")


def gga(time: str, *, quality: str = "1", talker: str = "GP") -> bytes:
    return sentence(f"{talker}GGA,{time},3300.000,S,01200.000,W,{quality},09,0.9,900.0,M,10.0,M,,")


def fixes(found: tuple) -> list[Fix]:
    return [thing for thing in found if isinstance(thing, Fix)]


def reasons(found: tuple) -> list[str]:
    return [thing.reason for thing in found if isinstance(thing, Rejected)]


def decoded(*parts: bytes, at_s: float = 0.0) -> list[Fix]:
    decoder = NmeaDecoder()
    found = [fix for part in parts for fix in fixes(decoder.feed(part, at_s))]
    return found + fixes(decoder.flush())


def test_published_sentences_of_one_instant_become_one_fix():
    stream = PUBLISHED_GGA + PUBLISHED_RMC + PUBLISHED_VTG + PUBLISHED_HDG
    (fix,) = decoded(stream, at_s=7.25)
    assert fix.at_s == 7.25
    assert fix.utc == datetime(1994, 3, 23, 12, 35, 19, tzinfo=UTC)
    assert fix.utc_of_day_s == 45_319.0
    assert (round(fix.lat_deg, 4), round(fix.lon_deg, 4)) == (48.1173, 11.5167)
    assert fix.altitude_ft == pytest.approx(545.4 / 0.3048)
    assert (fix.ground_speed_kt, fix.track_true_deg, fix.heading_mag_deg) == (22.4, 84.4, 101.1)
    assert fix.variation_deg == -3.1
    assert (fix.heading_true_deg, fix.airspeed_kt, fix.nac_p) == (None, None, None)


def test_fix_comes_with_the_last_sentence_of_its_instant_once_the_order_is_known():
    decoder = NmeaDecoder()
    assert decoder.feed(gga("093000") + rmc("093000"), 0.0) == ()
    assert [fix.utc_of_day_s for fix in fixes(decoder.feed(gga("093001"), 1.0))] == [34_200.0]
    (second,) = fixes(decoder.feed(rmc("093001"), 1.1))
    assert (second.utc_of_day_s, second.at_s) == (34_201.0, 1.1)
    assert decoder.feed(gga("093002"), 2.0) == ()
    assert len(fixes(decoder.feed(rmc("093002"), 2.1))) == 1
    assert decoder.feed(gga("093003"), 3.0) == ()
    (fourth,) = fixes(decoder.feed(rmc("093003"), 3.1))
    assert (fourth.altitude_ft is not None, fourth.ground_speed_kt) == (True, 90.0)


def test_one_lost_sentence_delays_its_fix_and_no_other():
    decoder = NmeaDecoder()
    for n in range(4):
        decoder.feed(gga(f"09300{n}") + rmc(f"09300{n}"), float(n))
    assert fixes(decoder.feed(gga("093004"), 4.0)) == []
    late = fixes(decoder.feed(gga("093005"), 5.0))
    assert [fix.utc_of_day_s for fix in late] == [34_204.0]
    assert [fix.utc_of_day_s for fix in fixes(decoder.feed(rmc("093005"), 5.0))] == [34_205.0]


def test_pause_of_the_feed_gives_the_instant_that_waits():
    decoder = NmeaDecoder()
    assert decoder.feed(gga("093000"), 0.0) == ()
    assert len(fixes(decoder.flush())) == 1
    assert decoder.flush() == ()


def test_sentence_that_comes_after_the_pause_makes_no_second_fix():
    decoder = NmeaDecoder()
    decoder.feed(gga("093000"), 0.0)
    assert len(fixes(decoder.flush())) == 1
    assert decoder.feed(rmc("093000"), 0.5) == ()
    assert decoder.flush() == ()


@pytest.mark.parametrize("order", [(gga, rmc), (rmc, gga)])
def test_receiver_without_a_fix_gives_none_whatever_its_other_sentence_says(order):
    """N12: RMC status V blocks."""
    decoder = NmeaDecoder()
    parts = [rmc("093000", status="V") if kind is rmc else gga("093000") for kind in order]
    found = decoder.feed(b"".join(parts), 0.0) + decoder.flush()
    assert fixes(found) == []
    assert reasons(found) == ["marked not valid"]


def test_the_listed_sentence_without_validity_is_rejected():
    """N12, in full as in the pynmea2 test suite."""
    decoder = NmeaDecoder()
    listed = b"$GPRMC,123519.00,V,4807.038,N,01131.000,E,,,230394,,*24\r\n"
    found = decoder.feed(listed, 0.0) + decoder.flush()
    assert (fixes(found), reasons(found)) == ([], ["marked not valid"])


def test_quality_zero_of_one_constellation_leaves_the_other_its_position():
    (fix,) = decoded(gga("093000") + gga("093000", quality="0", talker="GL") + rmc("093000"))
    assert fix.n_satellites == 9


def test_position_without_date_has_no_utc_and_its_time_of_day():
    (fix,) = decoded(gga("093000.50"))
    assert (fix.utc, fix.utc_of_day_s) == (None, 34_200.5)


def test_date_goes_on_through_midnight_where_only_gga_comes():
    found = decoded(rmc("235959"), gga("000000"), gga("000001"))
    assert [fix.utc and fix.utc.isoformat() for fix in found] == [
        "2031-05-04T23:59:59+00:00",
        "2031-05-05T00:00:00+00:00",
        "2031-05-05T00:00:01+00:00",
    ]


def test_leap_second_is_the_next_midnight():
    (fix,) = decoded(rmc("235960", date="311231"))
    assert fix.utc == datetime(2032, 1, 1, tzinfo=UTC)


def test_the_same_time_again_is_refused_and_makes_no_fix():
    decoder = NmeaDecoder()
    found = decoder.feed(rmc("093000") * 3, 0.0) + decoder.flush()
    assert (len(fixes(found)), reasons(found)) == (1, [SAME_AGAIN, SAME_AGAIN])


def test_heading_airspeed_and_wind_are_held_for_two_seconds():
    decoder = NmeaDecoder()
    decoder.feed(sentence("HEHDT,010.0,T") + sentence("IIVHW,,T,,M,095.0,N,,K"), 0.0)
    decoder.feed(sentence("WIMWV,045.0,R,101.0,N,A"), 0.0)
    (fresh,) = fixes(decoder.feed(rmc("093000"), HOLD_S) + decoder.flush())
    assert (fresh.heading_true_deg, fresh.airspeed_kt, fresh.wind_angle_deg) == (10.0, 95.0, 45.0)
    (old,) = fixes(decoder.feed(rmc("093001"), HOLD_S + 0.1) + decoder.flush())
    assert (old.heading_true_deg, old.airspeed_kt, old.wind_reference) == (None, None, None)


def test_true_wind_is_taken_before_relative_and_never_mixed_with_it():
    wind = sentence("WIMWV,045.0,R,101.0,N,A") + sentence("WIMWV,090.0,T,020.0,N,A")
    (fix,) = decoded(wind + sentence("WIMWV,046.0,R,102.0,N,A") + rmc("093000"))
    assert (fix.wind_angle_deg, fix.wind_speed_kt, fix.wind_reference) == (90.0, 20.0, "true")


def test_heading_sensor_is_taken_before_the_heading_of_vhw():
    (fix,) = decoded(sentence("HCHDG,101.0,,,,") + sentence("IIVHW,,T,109.0,M,,N,,K") + rmc("093000"))
    assert fix.heading_mag_deg == 101.0


def test_heading_that_is_sent_after_the_position_goes_with_its_own_instant():
    decoder = NmeaDecoder()
    found = []
    for n in range(5):
        parts = rmc(f"09300{n}") + gga(f"09300{n}") + sentence(f"HEHDT,{10.0 + n},T")
        found += fixes(decoder.feed(parts, float(n)))
    assert [(fix.at_s, fix.heading_true_deg) for fix in found] == [(float(n), 10.0 + n) for n in range(5)]


def test_late_heading_does_not_move_the_arrival_of_the_position():
    decoder = NmeaDecoder()
    decoder.feed(rmc("093000"), 0.0)
    decoder.feed(sentence("HEHDT,010.0,T"), 0.08)
    (fix,) = fixes(decoder.flush())
    assert (fix.at_s, fix.heading_true_deg) == (0.0, 10.0)


def test_track_and_speed_of_vtg_join_a_position_that_has_none():
    (fix,) = decoded(gga("093000") + sentence("GPVTG,010.0,T,,M,080.0,N,,K"))
    assert (fix.track_true_deg, fix.ground_speed_kt) == (10.0, 80.0)


def test_bad_sentence_costs_only_itself_and_is_counted_with_its_reason():
    decoder = NmeaDecoder()
    bad = gga("093000").replace(b"900.0", b"901.0")
    found = decoder.feed(bad + rmc("093000") + b"$GPGGA,0930\xff*00\r\n", 0.0) + decoder.flush()
    assert len(fixes(found)) == 1
    assert decoder.tally.rejected == {"checksum": 1, "not ASCII": 1}
    assert decoder.tally.examples["checksum"].startswith("$GPGGA,093000")
    assert decoder.tally.kinds == {"GPRMC": 1}


def test_clock_that_goes_back_still_gives_its_fixes():
    found = decoded(rmc("093005"), rmc("093001"))
    assert [fix.utc_of_day_s for fix in found] == [34_205.0, 34_201.0]


# Every field a sentence has room for, so that what is lost shows.
FULL = replace(
    START,
    heading_true_deg=8.5,
    heading_mag_deg=20.0,
    variation_deg=-11.5,
    airspeed_kt=95.5,
    wind_angle_deg=45.0,
    wind_speed_kt=12.5,
    wind_reference="true",
    geo_altitude_ft=3100.0,
)
STREAM = b"".join(map(encode_nmea, flight(4, start=FULL))) + b"rubbish\r\n" + encode_nmea(START)[:60]
WHOLE = NmeaDecoder()
WHOLE_FOUND = WHOLE.feed(STREAM, 0.0) + WHOLE.flush()


def test_every_position_of_a_split_gives_the_same_fixes_and_counts():
    for position in range(len(STREAM) + 1):
        decoder = NmeaDecoder()
        found = decoder.feed(STREAM[:position], 0.0) + decoder.feed(STREAM[position:], 0.0) + decoder.flush()
        assert fixes(found) == fixes(WHOLE_FOUND)
        assert decoder.tally.rejected == WHOLE.tally.rejected


@given(st.lists(st.integers(0, len(STREAM)), max_size=40))
def test_any_division_gives_the_same_fixes_and_counts(places: list[int]):
    decoder = NmeaDecoder()
    bounds = [0, *sorted(places), len(STREAM)]
    found = tuple(x for a, b in pairwise(bounds) for x in decoder.feed(STREAM[a:b], 0.0)) + decoder.flush()
    assert fixes(found) == fixes(WHOLE_FOUND)
    assert decoder.tally.rejected == WHOLE.tally.rejected


def test_all_fixes_of_a_flight_come_through():
    assert len(fixes(WHOLE_FOUND)) == 4
    assert fixes(WHOLE_FOUND)[0].airspeed_kt == 95.5
