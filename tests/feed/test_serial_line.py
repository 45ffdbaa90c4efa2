"""A serial line over a pair of pseudo-terminals."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator

import pytest

from coach.errors import SetupError
from coach.feed.address import FeedAddress, parse_feed_address
from coach.feed.serial_line import SerialSource

pytest.importorskip("serial", reason="pyserial is an extra")
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")

WAIT_S = 5.0


@pytest.fixture
def line() -> Iterator[tuple[int, FeedAddress]]:
    far, near = os.openpty()
    yield far, parse_feed_address(f"nmea+serial://{os.ttyname(near)}?baud=9600")
    for end in (far, near):
        try:
            os.close(end)
        except OSError:
            continue


def test_reads_what_the_receiver_sends_and_silence_is_nothing(line):
    far, address = line
    told: list[str] = []
    source = SerialSource(address, told.append)
    source.open()
    try:
        assert source.read(0.001) == b""
        os.write(far, b"$GPRMC")
        read = source.read(WAIT_S)
        while len(read) < 6:
            read += source.read(WAIT_S)
        assert read == b"$GPRMC"
        assert told == [f"reading {address.path} at 9600 baud"]
    finally:
        source.close()


def test_line_that_is_pulled_out_is_told_once_and_tried_again(line):
    far, address = line
    told: list[str] = []
    source = SerialSource(address, told.append, retry_s=0.0)
    source.open()
    os.close(far)
    for _ in range(20):
        assert source.read(0.001) == b""
    assert len([text for text in told if "is gone" in text]) == 1
    source.close()
    assert source.read(0.001) is None


def test_missing_port_is_told_before_the_flight_with_those_there_are():
    with pytest.raises(SetupError, match=r"cannot open: .*There are: "):
        SerialSource(parse_feed_address("nmea+serial:///dev/no-such-port"), lambda _: None).open()


def test_missing_library_is_told_with_its_remedy(line, monkeypatch):
    monkeypatch.setitem(sys.modules, "serial", None)
    with pytest.raises(SetupError, match=r"pip install 'drill-coach\[serial\]'"):
        SerialSource(line[1], lambda _: None).open()
