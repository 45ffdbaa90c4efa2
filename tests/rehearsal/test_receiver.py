from __future__ import annotations

import socket

import pytest

from coach.errors import CoachError
from coach.fixes.continuity import Lost
from coach.fixes.fix import Fix
from coach.fixes.nmea_encoder import encode_nmea
from coach.rehearsal.receiver import BySocket, HandedOver, Receiver

FIX = Fix(at_s=0.0, source="nmea", lat_deg=-40.0, lon_deg=-110.0, utc_of_day_s=43_200.0)


@pytest.fixture(params=[HandedOver, BySocket])
def receiver(request: pytest.FixtureRequest):
    made: Receiver = request.param("nmea")
    yield made
    made.close()


def test_a_datagram_becomes_a_fix_dated_on_the_simulated_clock(receiver: Receiver):
    found = (*receiver.take(encode_nmea(FIX), 7.0), *receiver.wait(7.5))
    assert [(thing.at_s, thing.lat_deg) for thing in found if isinstance(thing, Fix)] == [(7.0, -40.0)]


def test_silence_is_told_once(receiver: Receiver):
    receiver.take(encode_nmea(FIX), 1.0)
    news = [thing for second in range(2, 60) for thing in receiver.wait(float(second))]
    (lost,) = [thing for thing in news if isinstance(thing, Lost)]
    assert lost.reason == "silent"


def test_garbage_is_no_fix(receiver: Receiver):
    found = (*receiver.take(b"\x00$GPRMC,nonsense*00\r\n" * 20, 1.0), *receiver.wait(2.0))
    assert not any(isinstance(thing, Fix) for thing in found)


def test_closing_gives_the_port_back_and_may_be_done_twice():
    receiver = BySocket("nmea")
    receiver.close()
    receiver.close()


def test_a_datagram_that_does_not_arrive_is_told(monkeypatch: pytest.MonkeyPatch):
    receiver = BySocket("nmea")
    monkeypatch.setattr("coach.rehearsal.receiver.LONGEST_WAIT_S", 0.01)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as elsewhere:
        elsewhere.bind(("127.0.0.1", 0))
        receiver._aircraft.connect(elsewhere.getsockname())
        with pytest.raises(CoachError, match="did not arrive"):
            receiver.take(b"lost", 1.0)
    receiver.close()
