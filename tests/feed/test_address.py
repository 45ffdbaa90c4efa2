"""Addresses as typed: every form, and one clear line for each thing that is wrong."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import SettingsError
from coach.feed.address import FORMS, FeedAddress, parse_feed_address


def address(text: str) -> FeedAddress:
    return parse_feed_address(text, where="URL")


@pytest.mark.parametrize(
    ("text", "host", "port", "hears_network"),
    [
        ("nmea+udp://", "127.0.0.1", 10110, False),
        ("gdl90+udp://", "127.0.0.1", 4000, False),
        ("nmea+udp://:10111", "127.0.0.1", 10111, False),
        ("nmea+udp://localhost", "localhost", 10110, False),
        ("nmea+udp://127.0.0.2:9/", "127.0.0.2", 9, False),
        ("nmea+udp://[::1]:9", "::1", 9, False),
        ("nmea+udp://*", "*", 10110, True),
        ("nmea+udp://0.0.0.0:1", "*", 1, True),
        ("NMEA+UDP://192.0.2.7", "192.0.2.7", 10110, True),
    ],
)
def test_udp_is_for_this_machine_only_unless_told_otherwise(text, host, port, hears_network):
    found = address(text)
    assert (found.transport, found.host, found.port, found.hears_network) == (
        "udp",
        host,
        port,
        hears_network,
    )


def test_tcp_names_its_host():
    found = address("gdl90+tcp://cockpit.example:2000")
    assert (found.form, found.transport, found.host, found.port) == ("gdl90", "tcp", "cockpit.example", 2000)
    assert not found.hears_network


def test_serial_line_has_a_device_and_a_rate():
    assert (address("nmea+serial:///dev/ttyUSB0").path, address("nmea+serial:///dev/x").baud) == (
        "/dev/ttyUSB0",
        4800,
    )
    found = address("nmea+serial://COM3?baud=9600")
    assert (found.path, found.baud) == ("COM3", 9600)


def test_file_has_a_path_and_a_speed():
    assert (address("nmea+file:///a%20b.log").path, address("nmea+file://here.log").path) == (
        "/a b.log",
        "here.log",
    )
    assert [address(f"nmea+file:///a?speed={text}").speed for text in ("10", "0.5", "max")] == [
        10.0,
        0.5,
        0.0,
    ]


def test_longer_sentences_are_allowed_where_it_is_asked_for():
    assert (address("nmea+udp://").longest, address("nmea+udp://?longest=120").longest) == (80, 120)


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", [f"URL: expected {FORMS}, got ''"]),
        ("udp://1", [f"URL: expected {FORMS}, got 'udp://1'"]),
        ("nmea+udp://[::1", [f"URL: expected {FORMS}, got 'nmea+udp://[::1'"]),
        ("nmea+udp://:0", ["URL: port: expected a number from 1 to 65535, got '0'"]),
        ("nmea+udp://:x", ["URL: port: expected a number from 1 to 65535, got 'x'"]),
        ("nmea+udp://:70000", ["URL: port: expected a number from 1 to 65535, got '70000'"]),
        ("nmea+tcp://", ["URL: host: expected a name or an address, got none"]),
        ("nmea+tcp://a/b", ["URL: path: expected none, got '/b'"]),
        ("nmea+file://", ["URL: path: expected the path of a file, got none"]),
        ("nmea+serial://", ["URL: path: expected a device such as /dev/ttyUSB0 or COM3, got none"]),
        ("nmea+file:///a?speed=0", ["URL: ?speed: expected a number above 0 up to 1000, or max, got '0'"]),
        (
            "nmea+file:///a?speed=nan",
            ["URL: ?speed: expected a number above 0 up to 1000, or max, got 'nan'"],
        ),
        ("nmea+serial:///a?baud=1e4", ["URL: ?baud: expected a whole number from 50 to 4000000, got '1e4'"]),
        ("nmea+udp://?longest=79", ["URL: ?longest: expected a whole number from 80 to 1000, got '79'"]),
        ("nmea+udp://?speed=2", ["URL: ?speed: expected only longest, got 'speed'"]),
        ("nmea+file:///a?baud=2", ["URL: ?baud: expected only speed, longest, got 'baud'"]),
        ("nmea+udp://#x", ["URL: expected no #, got '#x'"]),
        (
            "nmea+tcp://:0/p?x=1",
            [
                "URL: ?x: expected only longest, got 'x'",
                "URL: path: expected none, got '/p'",
                "URL: host: expected a name or an address, got none",
                "URL: port: expected a number from 1 to 65535, got '0'",
            ],
        ),
    ],
)
def test_each_thing_wrong_is_one_line_with_place_expected_and_got(text: str, lines: list[str]):
    with pytest.raises(SettingsError) as caught:
        address(text)
    assert [str(problem) for problem in caught.value.problems] == lines


@given(st.text(max_size=60) | st.text("nmea+udptcp:/[]@?#=%*.019", max_size=40).map("nmea+udp://".__add__))
def test_any_text_is_an_address_or_told_in_printable_lines(text: str):
    try:
        found = address(text)
    except SettingsError as error:
        lines = str(error).split("\n")
    else:
        again = parse_feed_address(str(found))
        assert (again.host, again.port, again.path) == (found.host, found.port, found.path)
        lines = []
    assert all(line.isprintable() and "expected" in line for line in lines)


@pytest.mark.parametrize(
    "text",
    [
        "nmea+file:///a%20b%3F.log",
        "nmea+udp://127.0.0.1:10110",
        "gdl90+udp://[::1]:4000",
        "nmea+udp://*:1",
        "nmea+file:///a.log",
    ],
)
def test_address_is_shown_as_it_can_be_typed(text: str):
    assert str(address(text)) == text
