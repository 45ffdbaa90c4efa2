"""GDL 90 bytes to fixes: one for each ownship report, and none that a heartbeat calls not valid."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.fix import Fix
from coach.fixes.gdl90 import BAD_ID, BAD_LENGTH, HOLD_S, NO_POSITION, NOT_VALID, Gdl90Decoder
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.gdl90_frames import BAD_CRC, encode_frame
from coach.fixes.gdl90_messages import (
    HEADING_MAG,
    HEADING_TRUE,
    Heartbeat,
    TrafficReport,
    decode_report,
    encode_heartbeat,
    encode_report,
)
from coach.fixes.tally import Rejected
from tests.fixes.samples import START, flight
from tests.fixes.test_gdl90_messages import TRAFFIC_MESSAGE

AIRBORNE = replace(START, pressure_altitude_ft=3000.0, geo_altitude_ft=3105.0, vertical_speed_ft_min=0.0)


def fixes(found: tuple) -> list[Fix]:
    return [thing for thing in found if isinstance(thing, Fix)]


def heartbeat(**fields) -> bytes:
    told = {"is_gps_valid": True, "is_utc_valid": True, "utc_of_day_s": 34_200} | fields
    return encode_frame(encode_heartbeat(Heartbeat(**told)))


def ownship(**fields) -> bytes:
    told = {"lat_deg": -33.0, "lon_deg": -12.0, "nic": 10, "nac_p": 9} | fields
    return encode_frame(encode_report(TrafficReport(**told)))


def test_worked_report_as_ownship_is_a_fix():
    """G13, G14."""
    (fix,) = Gdl90Decoder().feed(encode_frame(b"\x0a" + TRAFFIC_MESSAGE[1:]), 3.5)
    assert fix == Fix(
        at_s=3.5,
        source="gdl90",
        lat_deg=decode_report(TRAFFIC_MESSAGE).lat_deg,
        lon_deg=decode_report(TRAFFIC_MESSAGE).lon_deg,
        pressure_altitude_ft=5000.0,
        vertical_speed_ft_min=64.0,
        ground_speed_kt=123.0,
        track_true_deg=45.0,
        nic=10,
        nac_p=9,
        is_airborne=True,
    )


def test_traffic_is_counted_and_is_no_fix():
    decoder = Gdl90Decoder()
    assert decoder.feed(encode_frame(TRAFFIC_MESSAGE), 0.0) == ()
    assert decoder.tally.kinds == {"traffic": 1}


def test_heartbeat_gives_the_second_of_the_day():
    (fix,) = Gdl90Decoder().feed(heartbeat(utc_of_day_s=86_399) + ownship(), 0.0)
    assert (fix.utc_of_day_s, fix.utc) == (86_399.0, None)


def test_heartbeat_without_utc_gives_no_time():
    (fix,) = Gdl90Decoder().feed(heartbeat(is_utc_valid=False) + ownship(), 0.0)
    assert fix.utc_of_day_s is None


def test_heartbeat_without_a_position_blocks_the_report_until_the_next_one():
    decoder = Gdl90Decoder()
    (refused,) = decoder.feed(heartbeat(is_gps_valid=False) + ownship(), 0.0)
    assert isinstance(refused, Rejected)
    assert refused.reason == NOT_VALID
    assert len(fixes(decoder.feed(heartbeat() + ownship(), 1.0))) == 1


def test_heartbeat_and_geometric_altitude_are_held_no_longer_than_two_and_a_half_seconds():
    decoder = Gdl90Decoder()
    decoder.feed(encode_gdl90(AIRBORNE), 0.0)
    (held,) = decoder.feed(ownship(), HOLD_S)
    assert (held.geo_altitude_ft, held.utc_of_day_s) == (3105.0, 34_200.0)
    (old,) = decoder.feed(ownship(), HOLD_S + 0.1)
    assert (old.geo_altitude_ft, old.utc_of_day_s) == (None, None)


@pytest.mark.parametrize("fields", [{"lat_deg": 0.0, "lon_deg": 0.0, "nic": 0}, {"lat_deg": 90.1}])
def test_report_without_a_possible_position_is_refused(fields: dict):
    (refused,) = Gdl90Decoder().feed(ownship(**fields), 0.0)
    assert refused.reason == NO_POSITION


def test_direction_is_a_track_only_where_it_is_marked_as_one():
    """G11."""
    decoder = Gdl90Decoder()
    told = [
        (fix.track_true_deg, fix.heading_mag_deg, fix.heading_true_deg)
        for kind in (0, 1, HEADING_MAG, HEADING_TRUE)
        for fix in decoder.feed(ownship(direction_deg=45.0, direction_is=kind), 0.0)
    ]
    assert told == [(None, None, None), (45.0, None, None), (None, 45.0, None), (None, None, 45.0)]


def test_degraded_accuracy_is_a_fix_that_is_not_scored():
    """G12: NACp of 4 or less."""
    decoder = Gdl90Decoder()
    told = [decoder.feed(ownship(nac_p=nac_p), 0.0)[0].is_scorable for nac_p in (4, 5)]
    assert told == [False, True]


def test_identities_above_127_and_wrong_lengths_are_refused():
    """G2."""
    decoder = Gdl90Decoder()
    found = decoder.feed(
        encode_frame(b"\x80\x01") + encode_frame(b"\x0a\x01") + encode_frame(b"\x65\x01\x02"), 0.0
    )
    assert [thing.reason for thing in found] == [BAD_ID, BAD_LENGTH]
    assert decoder.tally.kinds == {"message 101": 1}


def test_bad_message_costs_only_itself():
    stream = bytearray(ownship() * 3)
    stream[len(ownship()) + 5] ^= 1
    found = Gdl90Decoder().feed(bytes(stream), 0.0)
    assert [getattr(thing, "reason", "fix") for thing in found] == ["fix", BAD_CRC, "fix"]


STREAM = b"~".join(map(encode_gdl90, flight(4, start=AIRBORNE))) + b"~rubbish~" + encode_gdl90(AIRBORNE)[:30]
WHOLE = Gdl90Decoder()
WHOLE_FOUND = WHOLE.feed(STREAM, 0.0)


def test_every_position_of_a_split_gives_the_same_fixes_and_counts():
    assert len(fixes(WHOLE_FOUND)) == 4
    for position in range(len(STREAM) + 1):
        decoder = Gdl90Decoder()
        found = decoder.feed(STREAM[:position], 0.0) + decoder.feed(STREAM[position:], 0.0)
        assert (found, decoder.tally.rejected) == (WHOLE_FOUND, WHOLE.tally.rejected)


@given(st.lists(st.integers(0, len(STREAM)), max_size=40))
def test_any_division_gives_the_same_fixes(places: list[int]):
    decoder = Gdl90Decoder()
    bounds = [0, *sorted(places), len(STREAM)]
    assert tuple(x for a, b in pairwise(bounds) for x in decoder.feed(STREAM[a:b], 0.0)) == WHOLE_FOUND
