"""A UDP port on loopback."""

from __future__ import annotations

import socket
import sys
from dataclasses import replace

import pytest

from coach.errors import SetupError
from coach.feed.address import FeedAddress, parse_feed_address
from coach.feed.udp import UdpSource

WAIT_S = 5.0


def free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def address() -> FeedAddress:
    return parse_feed_address(f"nmea+udp://:{free_port()}")


def send(data: bytes, address: FeedAddress) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        sender.sendto(data, ("127.0.0.1", address.port))


def test_datagrams_arrive_one_by_one_and_silence_is_nothing(address):
    told: list[str] = []
    source = UdpSource(address, told.append)
    source.open()
    try:
        assert source.read(0.001) == b""
        send(b"one", address)
        send(b"two", address)
        assert [source.read(WAIT_S), source.read(WAIT_S)] == [b"one", b"two"]
        assert told == [f"listening on port {address.port}, this machine only"]
    finally:
        source.close()


def test_without_being_told_it_cannot_be_reached_from_the_network(address):
    source = UdpSource(address, lambda _: None)
    source.open()
    try:
        assert source._socket.getsockname()[0] == "127.0.0.1"
    finally:
        source.close()


def test_told_to_listen_on_the_network_it_says_so(address):
    told: list[str] = []
    source = UdpSource(replace(address, host="*"), told.append)
    source.open()
    try:
        assert source._socket.getsockname()[0] == "0.0.0.0"
        assert told == [f"listening on port {address.port}, the network"]
    finally:
        source.close()


@pytest.mark.skipif(sys.platform == "win32", reason="binds a taken port")
def test_taken_port_is_told_before_the_flight(address):
    first, second = (UdpSource(address, lambda _: None) for _ in range(2))
    first.open()
    try:
        with pytest.raises(SetupError, match=rf"nmea\+udp://127.0.0.1:{address.port}: cannot listen: "):
            second.open()
    finally:
        first.close()


@pytest.mark.parametrize("host", ["192.0.2.1", "a..b", "a" * 300])
def test_address_of_another_machine_is_told_before_the_flight(address, host: str):
    with pytest.raises(SetupError, match="cannot listen"):
        UdpSource(replace(address, host=host), lambda _: None).open()


def test_closed_port_has_nothing_more_and_closes_twice(address):
    source = UdpSource(address, lambda _: None)
    assert source.read(0.001) is None
    source.open()
    source.close()
    source.close()
    assert source.read(0.001) == b""
