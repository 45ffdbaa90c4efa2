"""A TCP client against a server on loopback: it connects, is left, and connects again."""

from __future__ import annotations

import socket
from collections.abc import Iterator

import pytest

from coach.feed.address import parse_feed_address
from coach.feed.tcp import TcpSource

WAIT_S = 5.0


@pytest.fixture
def server() -> Iterator[socket.socket]:
    with socket.create_server(("127.0.0.1", 0)) as made:
        made.settimeout(WAIT_S)
        yield made


def client(port: int, told: list[str]) -> TcpSource:
    return TcpSource(parse_feed_address(f"nmea+tcp://127.0.0.1:{port}"), told.append, retry_s=0.0)


def test_reads_what_the_host_sends_and_connects_again_when_it_hangs_up(server):
    told: list[str] = []
    port = server.getsockname()[1]
    source = client(port, told)
    source.open()
    for _ in range(2):
        assert source.read(0.001) == b""
        host, _ = server.accept()
        host.sendall(b"one")
        assert source.read(WAIT_S) == b"one"
        host.close()
        assert source.read(WAIT_S) == b""
    source.close()
    place = f"127.0.0.1:{port}"
    closed = f"{place} has closed the connection, trying again"
    assert told == [f"connected to {place}", closed] * 2


def test_host_that_is_not_there_is_told_once_and_tried_until_it_is(server):
    told: list[str] = []
    port = server.getsockname()[1]
    server.close()
    source = client(port, told)
    assert [source.read(0.001) for _ in range(3)] == [b"", b"", b""]
    assert len(told) == 1
    assert told[0].startswith(f"no connection to 127.0.0.1:{port} (")
    with socket.create_server(("127.0.0.1", port)) as again:
        assert source.read(0.001) == b""
        host, _ = again.accept()
        with host:
            host.sendall(b"there")
            assert source.read(WAIT_S) == b"there"
    source.close()


def test_it_waits_between_two_tries():
    now_s = [0.0]
    told: list[str] = []
    address = parse_feed_address("nmea+tcp://127.0.0.1:1")
    source = TcpSource(address, told.append, retry_s=2.0, monotonic=lambda: now_s[0])
    source.read(0.001)
    told.clear()
    now_s[0] = 1.9
    assert source.read(0.001) == b""
    assert source._retry.next_s == 2.0
    now_s[0] = 2.0
    source.read(0.001)
    assert source._retry.next_s == 4.0


@pytest.mark.parametrize("host", ["a" * 300, "a..b"])
def test_impossible_name_is_no_exception(host: str):
    told: list[str] = []
    source = TcpSource(parse_feed_address(f"nmea+tcp://{host}:1"), told.append)
    assert source.read(0.001) == b""
    assert len(told) == 1


def test_reset_connection_is_told_and_tried_again(server):
    told: list[str] = []
    source = client(server.getsockname()[1], told)
    source.read(0.001)
    host, _ = server.accept()
    host.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\0\0\0\0\0\0\0")
    host.close()
    assert source.read(WAIT_S) == b""
    assert told[-1].endswith("trying again")
    source.close()


def test_closed_client_has_ended(server):
    source = client(server.getsockname()[1], [])
    source.read(0.001)
    source.close()
    source.close()
    assert source.read(0.001) is None
