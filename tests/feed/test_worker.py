"""The feed's thread, over a real socket and a real file: it posts facts and never anything else."""

from __future__ import annotations

import queue
import socket
import threading
import time

import pytest

from coach.errors import SetupError
from coach.feed.address import parse_feed_address
from coach.feed.worker import FeedWorker
from coach.fixes.continuity import Back, Lost
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_nmea
from coach.fixes.tally import Rejected
from coach.session.events import Event, FeedBack, FeedLost, FixReceived
from tests.feed.test_udp import free_port
from tests.fixes.samples import flight

WAIT_S = 10.0


@pytest.mark.parametrize(("form", "encode"), [("nmea", encode_nmea), ("gdl90", encode_gdl90)])
def test_fixes_sent_to_the_port_are_posted_in_order(form: str, encode):
    facts: queue.Queue[Event] = queue.Queue()
    port = free_port()
    worker = FeedWorker(parse_feed_address(f"{form}+udp://:{port}"), post=facts.put, now_s=time.monotonic)
    worker.start()
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
            for fix in flight(5):
                sender.sendto(encode(fix), ("127.0.0.1", port))
                fact = facts.get(timeout=WAIT_S)
                assert isinstance(fact, FixReceived)
                assert fact.fix.lat_deg == pytest.approx(fix.lat_deg, abs=2e-5)
                assert fact.onset_s == fact.fix.at_s <= time.monotonic()
    finally:
        worker.close()
    assert not worker._thread.is_alive()


def test_recording_that_ends_is_told_as_lost(tmp_path):
    path = tmp_path / "flight.log"
    path.write_bytes(b"".join(map(encode_nmea, flight(20))))
    facts: list[Event] = []
    address = parse_feed_address(f"nmea+file://{path}?speed=max")
    worker = FeedWorker(address, post=facts.append, now_s=time.monotonic)
    worker.start()
    worker._thread.join(WAIT_S)
    worker.close()
    assert [type(fact) for fact in facts] == [FixReceived] * 20 + [FeedLost]
    assert facts[-1].reason == "silent"


def test_lost_and_back_are_posted_with_their_times(tmp_path, monkeypatch):
    path = tmp_path / "flight.log"
    path.touch()
    facts: list[Event] = []
    worker = FeedWorker(parse_feed_address(f"nmea+file://{path}"), post=facts.append, now_s=lambda: 30.0)
    fix = next(flight(1))
    refused = Rejected(at_s=20.0, reason="checksum", text="$")
    script = [(Lost(reason="stale", since_s=10.0), refused), (Back(at_s=30.0), fix), None]
    monkeypatch.setattr(worker._reader, "read", lambda: script.pop(0))
    worker.start()
    worker._thread.join(WAIT_S)
    worker.close()
    assert facts[:3] == [
        FeedLost(at_s=30.0, onset_s=10.0, reason="stale"),
        FeedBack(at_s=30.0, onset_s=30.0),
        FixReceived(at_s=fix.at_s, onset_s=fix.at_s, fix=fix),
    ]


def test_closing_is_no_loss():
    facts: list[Event] = []
    worker = FeedWorker(
        parse_feed_address(f"nmea+udp://:{free_port()}"), post=facts.append, now_s=time.monotonic
    )
    worker.start()
    worker.close()
    assert facts == []


def test_what_a_person_can_mend_is_raised_before_the_flight():
    worker = FeedWorker(parse_feed_address("nmea+udp://192.0.2.1"), post=print, now_s=time.monotonic)
    with pytest.raises(SetupError):
        worker.start()
    worker.close()


def test_failure_of_ours_is_told_to_the_session_as_a_lost_feed(tmp_path, monkeypatch):
    monkeypatch.setattr(threading, "excepthook", lambda _: None)
    path = tmp_path / "flight.log"
    path.write_bytes(b"$")
    facts: list[Event] = []
    worker = FeedWorker(parse_feed_address(f"nmea+file://{path}"), post=facts.append, now_s=time.monotonic)
    monkeypatch.setattr(worker._reader, "read", lambda: 1 / 0)
    worker.start()
    worker._thread.join(WAIT_S)
    worker.close()
    assert [type(fact) for fact in facts] == [FeedLost]
