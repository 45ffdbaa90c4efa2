"""Pieces of a recording with the time they were sent: nothing lost, never back, no endless pause."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.decoder import make_decoder, make_pacer
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_nmea
from coach.fixes.pacing import LONGEST_LINE, LONGEST_PAUSE_S, Gdl90Pacer, NmeaPacer
from tests.fixes.samples import flight, sentence


def rmc(time: str) -> bytes:
    return sentence(f"GPRMC,{time},A,3300.0,S,01200.0,W,,,040531,,") + b"\r\n"


def times(*lines: bytes) -> list[float]:
    pacer = NmeaPacer()
    return [at_s for line in lines for at_s, _ in pacer.cut(line)]


def test_lines_without_a_time_have_that_of_the_line_before():
    assert times(rmc("093000"), b"# remark\r\n", rmc("093001.50"), b"$GPGSV,1*00\r\n") == [0.0, 0.0, 1.5, 1.5]


def test_midnight_is_one_second_later():
    assert times(rmc("235959"), rmc("000000")) == [0.0, 1.0]


def test_order_of_a_receivers_sentences_is_no_going_back():
    assert times(rmc("093001"), rmc("093000"), rmc("093002"), rmc("093001"), rmc("093003")) == [0, 0, 1, 1, 2]


def test_a_second_recording_in_the_file_goes_on_at_once():
    assert times(rmc("093100"), rmc("080000"), rmc("080001")) == [0.0, 0.0, 1.0]


def test_a_gap_of_hours_is_replayed_as_a_minute():
    assert times(rmc("010000"), rmc("090000")) == [0.0, LONGEST_PAUSE_S]


def test_heartbeats_time_the_frames():
    stream = b"".join(encode_gdl90(fix) for fix in flight(3, 2.0))
    pacer = Gdl90Pacer()
    timed = pacer.cut(stream) + pacer.finish()
    assert sorted({at_s for at_s, _ in timed}) == [0.0, 2.0, 4.0]


@pytest.mark.parametrize("form", ["nmea", "gdl90"])
@given(
    stream=st.binary(max_size=200) | st.sampled_from([b"x" * 9000, rmc("093000") * 50]),
    step=st.integers(1, 99),
)
def test_every_byte_comes_out_in_order(form, stream: bytes, step: int):
    pacer = make_pacer(form)
    parts = [stream[n : n + step] for n in range(0, len(stream), step)]
    timed = [piece for part in parts for piece in pacer.cut(part)] + pacer.finish()
    assert b"".join(piece for _, piece in timed) == stream
    assert [at_s for at_s, _ in timed] == sorted(at_s for at_s, _ in timed)


def test_endless_line_is_passed_on_in_parts():
    pacer = NmeaPacer()
    pieces = [piece for _ in range(10) for _, piece in pacer.cut(b"x" * LONGEST_LINE)]
    assert b"".join(pieces) == b"x" * LONGEST_LINE * 10


@pytest.mark.parametrize(("form", "encode"), [("nmea", encode_nmea), ("gdl90", encode_gdl90)])
def test_paced_pieces_decode_to_the_same_fixes(form, encode):
    stream = b"".join(map(encode, flight(5)))
    pacer, paced, whole = make_pacer(form), make_decoder(form), make_decoder(form)
    for _, piece in pacer.cut(stream) + pacer.finish():
        paced.feed(piece, 0.0)
    paced.flush()
    whole.feed(stream, 0.0)
    whole.flush()
    assert paced.tally.fixes == whole.tally.fixes == 5
